import type { Half, ResultView, TestView } from '../../src/views';
import { ago, personHead, say } from './say';
import { result } from './tests';

const trunk = {
  screen: 'test', route: '/p/2/hold/extensor', head: personHead('Ines K.', say('Trunk hold')),
} as const;

export const trunkSetUp: TestView = {
  ...trunk, phase: 'setup', finding: say('Back hold (extensors)'),
  care: { title: say('Not for everyone'), lines: [say('Ask a doctor first with heart trouble.')] },
  lines: [say('Face down on a bench, the hips at its edge.')],
  actions: [{ label: say('Get ready'), do: 'trunk.prepare', kind: 'main', form: true }],
};

const whole: Half = {
  title: say('Back hold (extensors)'), notes: [say('Arms crossed, body level: start the time.')],
  state: 'next', act: say('Touch to start'), do: 'test.start',
};

export const trunkNext: TestView = {
  ...trunk, phase: 'timing', halves: [whole],
  foot: { chips: [{ label: say('Leave'), do: 'test.abandon' }] },
};

export const trunkRunning: TestView = {
  ...trunk, phase: 'timing', busy: true,
  halves: [{
    ...whole, notes: [], state: 'running', since: ago(101_000), act: say('Touch to stop'), do: 'test.stop',
  }],
  foot: { chips: [] },
};

export const resultBattery: ResultView = {
  ...result,
  sections: [{
    title: say('Back, front and sides together'),
    note: say('The bands are often quoted, from memory.'),
    rows: [
      { title: say('Back hold (extensors)'), lines: [say('{s} s, gave up', { s: 118 })] },
      {
        title: say('Front hold (flexors)'), lines: [say('Not held on that day.')],
        actions: [{ label: say('Time a front hold'), route: '/p/2/hold/flexor' }],
      },
      {
        title: say('Left elbow down, works left side, over back'), reason: say('cannot tell'),
        lines: [say('{ratio}; {low} to {high}, 9 times in 10.', { ratio: 0.55, low: 0.38, high: 0.8 })],
        working: {
          title: say('Left elbow down, works left side, over back extensors'), inputs: [], sources: [], cautions: [],
          steps: [{
            label: say('Ratio of the two holds'), formula: 'hold/hold', value: say('{n}', { n: 0.55 }),
          }],
        },
      },
      {
        title: say('Front over back'), reason: say('no ratio'),
        lines: [say('The front hold is missing on that day.')],
      },
    ],
  }],
};
