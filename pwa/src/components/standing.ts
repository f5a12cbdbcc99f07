import type { Cue, Interval, Reading } from '../views';

/** Where a series stands: which interval runs, what is left of it, and what is to be shown. */
export interface Standing {
  /** The number of intervals when all have ended. */
  readonly index: number;
  readonly leftS: number;
  /** Index of the cue to show, or -1. */
  readonly cue: number;
}

/** Where a series stands after `elapsedMS`. Before the first interval the first one waits. */
export function standing(
  intervals: readonly Interval[],
  cues: readonly Cue[],
  elapsedMS: number,
): Standing {
  const at = intervals.findIndex((i) => elapsedMS < i.toMS);
  const interval = intervals[at];
  if (!interval) return { index: intervals.length, leftS: 0, cue: -1 };
  const leftS = Math.ceil((interval.toMS - Math.max(elapsedMS, interval.fromMS)) / 1000);
  let cue = cues.length - 1;
  while (cue >= 0 && !isShown(cues[cue]!, interval, elapsedMS)) cue--;
  return { index: at, leftS, cue };
}

function isShown(cue: Cue, interval: Interval, elapsedMS: number): boolean {
  // What is said is shown too: a phone may be muted, an ear may not hear.
  const inWords = cue.channel === 'show' || cue.channel === 'say';
  return inWords && cue.atMS <= elapsedMS && cue.atMS >= interval.fromMS;
}

/** Tells one list of cues from another, so that sound is planned again only when it must be. */
export function cuesKey(cues: readonly Cue[] | undefined, from: Reading | undefined): string {
  if (!cues || !from) return '';
  const ends = [cues[0]?.atMS, cues[cues.length - 1]?.atMS, cues.length];
  return [from.run, from.monoMS, from.wallMS, ...ends].join(' ');
}
