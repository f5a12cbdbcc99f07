import type { Action, Half, ResultView, TestView } from '../../src/views';
import { lying } from './figures';
import { ago, nowMS, personHead, say } from './say';

const where = say('Side hold, legs straight, seen from behind');
const head = personHead('Ines K.', where);
const chip = (label: string): Action => ({ label: say(label), do: 'chip', args: { label } });

export const setUp: TestView = {
  screen: 'test', phase: 'setup', route: '/p/2/test', head,
  finding: say('Both sides, one hold each'),
  figure: lying,
  lines: [
    say('Lie on one side, elbow under the shoulder, legs straight, top foot in front.'),
    say('Lift the hips until the body is straight. Time runs until the hips sag or turn.'),
    say('Stop at once if it hurts.'),
  ],
  fields: [
    {
      id: 'first', kind: 'choice', label: say('First side'), value: 'drawn',
      options: [
        { value: 'drawn', label: say('Drawn by lot') },
        { value: 'left', label: say('Left first') },
        { value: 'right', label: say('Right first') },
      ],
    },
  ],
  actions: [{ label: say('Get ready'), do: 'test.prepare', kind: 'main', form: true }],
};

const left: Half = {
  side: 'left', title: say('Left'),
  notes: [say('lies on left elbow'), say('works left side')], state: 'waiting',
};
const right: Half = {
  side: 'right', title: say('Right'),
  notes: [say('lies on right elbow'), say('works right side')], state: 'waiting',
};
const start = { act: say('Touch to start'), do: 'test.start' };
const done: Half = {
  ...left, state: 'done', heldS: 58, result: say('position lost'), act: say('Done'),
};

const timing: TestView = { screen: 'test', phase: 'timing', route: '/p/2/test', head };

export const next: TestView = {
  ...timing,
  halves: [{ ...left, ...start, state: 'next' }, right],
  foot: {
    title: say('Left side first, drawn by lot'), chips: [chip('Face each other'), chip('Leave')],
  },
};

export const running: TestView = {
  ...timing, busy: true, head: { name: 'Ines K.', where, state: say('Saved on this phone') },
  halves: [
    done,
    { ...right, state: 'running', since: ago(41_300), act: say('Touch to stop'), do: 'test.stop' },
  ],
  foot: { chips: [chip('Hips sag'), chip('Rolls forward'), chip('Shoulder shrugs')] },
};

export const runningLong: TestView = {
  ...running,
  halves: [
    { ...left, state: 'running', since: ago(184_000), act: say('Touch to stop'), do: 'test.stop' },
    right,
  ],
};

export const why: TestView = {
  ...running,
  halves: [done, { ...right, state: 'done', heldS: 81, result: say('stopped') }],
  foot: {
    title: say('Why did it end?'),
    chips: [
      chip('Position lost'), chip('Gave up'), chip('Arm or shoulder'), chip('Pain'),
      chip('My mistake'), chip('Time limit'),
      { label: say('Still holding'), do: 'test.resume', kind: 'quiet' },
      { label: say('Throw away'), do: 'test.discard', kind: 'quiet' },
    ],
  },
};

export const resting: TestView = {
  ...timing, busy: true,
  halves: [done, { ...right, act: say('Next, after the rest') }],
  foot: {
    title: say('Rest. Then lie on the right elbow'), until: ago(-272_000), restS: 300,
    field: {
      id: 'note', kind: 'text', label: say('Why cut it short?'), value: '',
      error: say('Say why in a word or two. The rest still runs.'),
    },
    chips: [{ label: say('End the rest'), do: 'test.rest', form: true }],
  },
};

export const result: ResultView = {
  screen: 'result', route: '/p/2/result/a',
  head: personHead('Ines K.', say('Side hold, legs straight, {at}', { at: { time: nowMS } })),
  finding: say('Left side gave way sooner'),
  left: {
    heldS: 58, bar: 0.55, low: 0.46, high: 0.66,
    notes: [say('left elbow down'), say('works left side')],
  },
  right: {
    heldS: 81, bar: 0.77, low: 0.64, high: 0.92,
    notes: [say('right elbow down'), say('works right side')],
  },
  verdict: say('Larger than the test’s own noise.'),
  detail: [
    say('The left is {low} to {high} % shorter, 9 times in 10.', { low: 13, high: 43 }),
    say('It does not tell who will be hurt.'),
  ],
  working: {
    title: say('Difference between the sides'),
    inputs: [
      { label: say('Left hold'), value: say('{n} s', { n: 58 }), note: say('one trial') },
      { label: say('Right hold'), value: say('{n} s', { n: 81 }) },
    ],
    steps: [
      { label: say('Ratio'), formula: 'ln(58 / 81)', value: say('{n}', { n: -0.334 }) },
      {
        label: say('Interval'), formula: 'exp(-0.334 ± 1.645 × 0.13 × √2)',
        value: say('57 to 87 %'),
      },
    ],
    sources: [
      {
        title: 'An invented paper about holds', where: 'Journal of Examples, 2001, p. 7',
        status: say('made up for this picture'),
      },
    ],
    cautions: [say('One trial a side. A second day would narrow it.')],
  },
  sections: [
    {
      rows: [
        {
          title: say('Against last time'), reason: say('no change'),
          lines: [say('left {l} s more, right {r} s more: inside test noise', { l: 6, r: 4 })],
        },
        {
          title: say('Against a named sample'), reason: say('about the middle'),
          lines: [say('Invented sample of {n} people: {mean} ± {sd} s', {
            n: 31, mean: 60, sd: 25,
          })],
        },
        {
          title: say('What stopped it'), reason: say('counts'),
          lines: [say('left: position lost; right: gave up')],
        },
      ],
    },
    {
      title: say('Over the months'), note: say('The band is where each side stands.'),
      trend: {
        label: say('Three tests, oldest on top'), first: say('1 March'), last: say('3 May; 100 s'),
        left: [
          { at: 0.05, mid: 0.42, low: 0.33, high: 0.54, tested: 0.4 },
          { at: 0.6, mid: 0.48, low: 0.4, high: 0.58, tested: 0.55, atLeast: true },
          { at: 0.95, mid: 0.55, low: 0.46, high: 0.66, tested: 0.58 },
        ],
        right: [
          { at: 0.05, mid: 0.7, low: 0.58, high: 0.86, tested: 0.74 },
          { at: 0.95, mid: 0.77, low: 0.64, high: 0.92, tested: 0.81 },
        ],
      },
      rows: [{
        title: say('Left elbow down, works left side'),
        lines: [say('Now about {n} s.', { n: 55 })],
        working: {
          title: say('Trend of one side'), inputs: [], steps: [], sources: [],
          cautions: [say('It may be learning.')],
        },
      }],
    },
  ],
  actions: [{ label: say('See the suggested start'), route: '/p/2/plan', kind: 'main' }],
};

export const resultCare: ResultView = {
  ...result,
  finding: say('Cannot tell the sides apart'),
  left: { heldS: 7, bar: 0.07, low: 0.05, high: 0.09, notes: result.left!.notes },
  right: { heldS: 112, bar: 0.77, atLeast: true, notes: result.right!.notes },
  care: {
    title: say('The test ended because it hurt'),
    lines: [say('Do not test again today. Ask a clinician if the pain stays.')],
  },
  verdict: say('One side is only a lower bound.'),
};

export const resultOneSide: ResultView = (({ left: _, ...rest }) => ({
  ...rest,
  finding: say('Only the right side was held'),
  verdict: say('There is nothing to compare.'),
}))(result);
