import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Cue, Interval } from '../views';
import { cuesKey, standing } from './standing';

const label = { k: 'x' };
const intervals: readonly Interval[] = [
  { kind: 'ready', fromMS: 0, toMS: 5000, label },
  { kind: 'hold', fromMS: 5000, toMS: 15_000, label },
  { kind: 'rest', fromMS: 15_000, toMS: 18_000, label },
];
const cues: readonly Cue[] = [
  { atMS: 4000, channel: 'say', text: { k: 'a' } },
  { atMS: 7000, channel: 'beep', tone: 'tick' },
  { atMS: 9000, channel: 'show', text: { k: 'b' } },
];

// Worked by hand from the three intervals above.
test('where a series stands', () => {
  const rows: readonly [elapsedMS: number, index: number, leftS: number, cue: number][] = [
    [-800, 0, 5, -1], // a start that lies ahead waits at the full count
    [0, 0, 5, -1],
    [1, 0, 5, -1], // a second is shown until it has passed
    [4000, 0, 1, 0],
    [5000, 1, 10, -1], // words of the interval before are taken away
    [8999, 1, 7, -1], // a beep has no words
    [9000, 1, 6, 2],
    [14_999, 1, 1, 2],
    [15_000, 2, 3, -1],
    [18_000, 3, 0, -1],
    [99_000, 3, 0, -1],
  ];
  for (const [elapsedMS, index, leftS, cue] of rows) {
    const found = standing(intervals, cues, elapsedMS);
    assert.deepEqual(found, { index, leftS, cue }, `${elapsedMS} ms`);
  }
});

test('the same cues from the same start are not planned twice', () => {
  const from = { wallMS: 1, monoMS: 2, run: 'r' };
  assert.equal(cuesKey(cues, from), cuesKey([...cues], { ...from }));
  assert.notEqual(cuesKey(cues, from), cuesKey(cues.slice(1), from));
  assert.notEqual(cuesKey(cues, from), cuesKey(cues, { ...from, monoMS: 3 }));
  assert.equal(cuesKey(undefined, from), '');
});
