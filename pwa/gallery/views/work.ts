import type { Interval, PlanView, Stepper, Text, WorkView } from '../../src/views';
import { carrying, lying } from './figures';
import { ago, personHead, say } from './say';

const stepper = (
  id: string, label: Text, value: number, by: number, unit: Text, more: Partial<Stepper> = {},
): Stepper =>
  ({ id, label, value, less: Math.max(0, value - by), more: value + by, unit, do: 'set', ...more });

const pin = (label: Text) => ({ pin: { label, do: 'plan.pin' } });

const rightHand = [say('weight in right hand'), say('works left side')];
const leftHand = [say('weight in left hand'), say('works right side')];
const load = (side: 'left' | 'right', kg: number) =>
  stepper(`load-${side}`, say('Load'), kg, 1, say('kg'), {
    side, notes: side === 'left' ? rightHand : leftHand,
  });

export const ladderStep: PlanView = {
  screen: 'plan', route: '/practice/ladders/bent_knee_hold',
  head: { title: say('Plumb Yard'), state: say('Saved on this phone'), back: '/practice/ladders' },
  finding: say('Bent-knee hold'),
  lines: [
    say('Lie on your side with knees bent, elbow under the shoulder.'),
    say('Not with a sore shoulder. Ask for another step.'),
  ],
  items: [
    {
      title: say('How it begins'), lines: [say('{n} sets a side', { n: 3 })],
      steppers: [
        stepper('hold', say('Hold'), 10, 1, say('s'), { more: 10 }),
        stepper('rest', say('Rest between sets'), 60, 15, say('s'), {
          error: say('{value} is outside the safe range.', { value: 5 }),
        }),
      ],
      also: [
        {
          title: say('Bent-knee hold: rest between sets'),
          lines: [say('shown now: {value} s; {who}', { value: 60, who: 'Noor A.' })],
          actions: [{ label: say('Keep {value} s', { value: 60 }), do: 'conflict.keep' }],
        },
      ],
    },
    {
      title: say('When it opens'), lines: [say('Any one of these opens it.')],
      steppers: [stepper('legs', say('Held in the straight-leg test'), 10, 5, say('s'))],
    },
    {
      title: say('When to go on'), lines: [say('All of this at once.')],
      steppers: [stepper('pain', say('Pain of at most'), 2, 1, say(''), { more: 2 })],
    },
  ],
  fields: [
    {
      id: 'cue1', kind: 'text', label: say('Cue {n}', { n: 1 }), value: 'Belt buckle up',
      hint: say('Ours: {ours}. Leave it empty to keep that.', { ours: say('Lift your hips') }),
      optional: true,
    },
  ],
  actions: [
    { label: say('Save the cues'), do: 'ladder.cues', form: true },
    { label: say('Move up, as easier'), do: 'ladder.move', kind: 'quiet' },
    { label: say('Hide: suggest it no more'), do: 'ladder.hide', kind: 'quiet' },
    { label: say('Back to how we ship it'), do: 'ladder.ship', kind: 'quiet' },
  ],
};

export const plan: PlanView = {
  screen: 'plan', route: '/p/2/plan', head: personHead('Ines K.', say('Plan')),
  finding: say('A start to accept or change'),
  lines: [say('The left side begins each time and gets one set more.')],
  items: [
    {
      title: say('Side hold, knees bent'),
      lines: [say('Sets of {reps} holds, {s} s each', {
        reps: [say('5'), say('4'), say('3')], s: 10,
      })],
      why: [say('Chosen from the shorter hold: {s} s on the left.', { s: 58 })],
      steppers: [
        stepper('sets', say('Sets'), 3, 1, say('sets'), pin(say('stays'))),
        stepper('hold', say('Hold'), 10, 1, say('s'), pin(say('follows'))),
        stepper('extra', say('Extra sets, weaker side'), 1, 1, say('sets'), {
          notes: [say('left elbow down'), say('works left side')], ...pin(say('follows')),
        }),
      ],
      actions: [{ label: say('Leave this out'), do: 'plan.remove', kind: 'quiet' }],
    },
    {
      title: say('Suitcase carry'),
      lines: [say('Walk tall with one weight. Set it down before you lean.')],
      steppers: [
        { ...load('left', 6), ...pin(say('stays')) }, { ...load('right', 7.5), ...pin(say('stays')) },
        stepper('metres', say('Distance'), 40, 5, say('m'), {
          error: say('A carry is 1 to 2,000 m. The old value is kept.'),
        }),
      ],
      also: [
        {
          title: say('Also recorded: {kg} kg', { kg: 12 }),
          lines: [say('{name}, on another phone', { name: 'Noor A.' })],
          actions: [{ label: say('Use this'), do: 'keep.also' }],
        },
      ],
    },
  ],
  fields: [
    { id: 'reason', kind: 'text', label: say('Why changed?'), value: '', optional: true },
  ],
  actions: [
    { label: say('Accept this plan'), do: 'plan.accept', kind: 'main', form: true },
    { label: say('Decline'), do: 'plan.decline', form: true },
  ],
};

const head = {
  title: say('Side hold, legs straight'), where: say('Part {n} of {all}', { n: 2, all: 9 }),
  state: say('Saved on this phone'),
};
const skip = { label: say('Skip this set'), do: 'work.skip', kind: 'quiet' } as const;
const count = say('Set {n} of {of}', { n: 2, of: 3 });
const onRight = [say('right elbow down'), say('works right side')];

export const ready: WorkView = {
  screen: 'work', phase: 'ready', route: '/work', head, count,
  finding: say('Side hold on the right elbow'),
  side: 'right', notes: onRight, figure: lying,
  lines: [say('{n} holds of {s} s, {r} s rest between', { n: 4, s: 10, r: 3 })],
  actions: [{ label: say('Start'), do: 'work.start', kind: 'main' }, skip],
};

const intervals: readonly Interval[] = [
  { kind: 'ready', fromMS: 0, toMS: 5000, label: say('Get ready') },
  {
    kind: 'hold', fromMS: 5000, toMS: 15_000, label: say('Hold'),
    count: say('Hold {n} of {of}', { n: 1, of: 4 }),
  },
  {
    kind: 'rest', fromMS: 15_000, toMS: 18_000, label: say('Down'),
    count: say('Hold {n} of {of}', { n: 1, of: 4 }),
  },
  { kind: 'hold', fromMS: 18_000, toMS: 28_000, label: say('Hold') },
];

export const hold: WorkView = {
  ...ready, phase: 'series', busy: true, since: ago(8200), intervals, lines: [],
  cues: [{ atMS: 6000, channel: 'say', text: say('Hips up') }],
  atEnd: { label: say('Ended'), do: 'work.end' },
  actions: [
    { label: say('Stop here'), do: 'work.stop' },
    { label: say('It hurts'), do: 'work.stop', args: { stop: 'pain' }, kind: 'care' },
  ],
};

export const down: WorkView = {
  ...hold, since: ago(15_900), side: 'left',
  notes: [say('left elbow down'), say('works left side')],
};

export const rest: WorkView = {
  ...ready, phase: 'rest', busy: true, since: ago(17_000),
  head: { ...head, title: say('Suitcase carry') }, finding: say('Rest, then the carry'),
  side: 'left', notes: rightHand, lines: [say('Stay loose. Breathe.')],
  intervals: [{ kind: 'rest', fromMS: 0, toMS: 45_000, label: say('Rest') }],
  steppers: [load('left', 16), stepper('m', say('Distance'), 40, 5, say('m'))],
  figure: carrying,
};

export const carry: WorkView = {
  screen: 'work', phase: 'ready', route: '/work', count,
  head: { ...head, title: say('Suitcase carry') },
  finding: say('Suitcase carry'), side: 'left', notes: rightHand, figure: carrying,
  lines: [say('Stay stacked. If you lean, set it down and take a lighter one.')],
  steppers: [load('left', 16), stepper('m', say('Distance'), 40, 5, say('m'))],
  actions: [
    { label: say('Set done'), do: 'work.enter', kind: 'main' },
    { label: say('Time it'), do: 'work.start' },
    skip,
  ],
};

export const carrying30: WorkView = (({ steppers: _, ...rest }) => ({
  ...rest, phase: 'carry' as const, busy: true, since: ago(34_500),
  actions: [
    { label: say('Set it down'), do: 'work.end', kind: 'main' as const },
    { label: say('It hurts'), do: 'work.stop', kind: 'care' as const },
  ],
}))(carry);

export const unsure: WorkView = {
  screen: 'work', phase: 'unsure', route: '/work', head, side: 'right', notes: onRight, count,
  finding: say('Was the set finished?'),
  lines: [say('The phone slept while the holds ran. They would have ended at {at}.', {
    at: { time: ago(0).wallMS },
  })],
  actions: [
    { label: say('Yes, all of it'), do: 'work.end', kind: 'main' },
    { label: say('No, do it again'), do: 'work.again' },
  ],
};
