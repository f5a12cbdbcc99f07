import type { Figure } from '../../src/views';
import { say } from './say';

const line = (part: string, x1: number, y1: number, x2: number, y2: number) =>
  ({ part, x1, y1, x2, y2 });

/** Invented postures of a person 1.7 m tall. */
export const carrying: Figure = {
  label: say('Standing, seen from behind: weight in right hand, left side of the trunk works'),
  lines: [
    line('head', 0, 1.46, 0, 1.7), line('trunk', 0, 0.92, 0, 1.4),
    line('shoulders', -0.18, 1.4, 0.18, 1.4), line('hips', -0.11, 0.92, 0.11, 0.92),
    line('upper_arm', -0.18, 1.4, -0.24, 1.1), line('forearm', -0.24, 1.1, -0.25, 0.82),
    line('upper_arm', 0.18, 1.4, 0.24, 1.1), line('forearm', 0.24, 1.1, 0.26, 0.82),
    line('thigh', -0.11, 0.92, -0.13, 0.48), line('shank', -0.13, 0.48, -0.13, 0),
    line('thigh', 0.11, 0.92, 0.13, 0.48), line('shank', 0.13, 0.48, 0.13, 0),
  ],
  supports: [{ x: -0.13, y: 0, newtons: 344 }, { x: 0.13, y: 0, newtons: 500 }],
  weight: { x: 0.27, y: 0.76, newtons: 157 },
  works: 'left',
  notes: [say('Seen from behind')],
};

export const lying: Figure = {
  label: say('Side hold on the right elbow, seen from behind: right side of the trunk works'),
  lines: [
    line('head', 1.4, 0.44, 1.63, 0.52), line('trunk', 0.88, 0.28, 1.34, 0.42),
    line('shoulders', 1.39, 0.25, 1.29, 0.59), line('hips', 0.91, 0.18, 0.85, 0.38),
    line('upper_arm', 1.39, 0.25, 1.38, 0.03), line('upper_arm', 1.29, 0.59, 1.02, 0.53),
    line('thigh', 0.88, 0.28, 0.46, 0.15), line('shank', 0.46, 0.15, 0.04, 0.03),
  ],
  supports: [{ x: 0.04, y: 0, newtons: 236 }, { x: 1.38, y: 0, newtons: 367 }],
  works: 'right',
  notes: [say('Seen from behind')],
};
