import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Clock } from './clock';

/** Two clocks set by hand. */
function hands() {
  const now = { wall: 1_700_000_000_000, mono: 5_000 };
  let runs = 0;
  const name = (): string => `run${++runs}`;
  const clock = new Clock({ wallMS: () => now.wall, monoMS: () => now.mono, name });
  const pass = (ms: number): void => {
    now.wall += ms;
    now.mono += ms;
  };
  return { now, clock, pass };
}

test('within a run the monotonic clock measures, whatever the wall clock is set to', () => {
  const { now, clock, pass } = hands();
  const start = clock.read();
  pass(10_000);
  now.wall -= 3_600_000;
  assert.equal(clock.since(start), 10_000);
});

// performance.now() stops while most phones sleep: High Resolution Time, W3C, issue 115.
test('across a sleep the wall clock measures', () => {
  const { now, clock, pass } = hands();
  const start = clock.read();
  pass(10_000);
  clock.hide();
  now.wall += 60_000;
  now.mono += 2_000;
  clock.show();
  assert.equal(clock.since(start), 70_000);
  assert.notEqual(clock.read().run, start.run);
});

test('a look at another app without a sleep is no new run', () => {
  const { clock, pass } = hands();
  const start = clock.read();
  clock.hide();
  pass(30_000);
  clock.show();
  assert.equal(clock.read().run, start.run);
  assert.equal(clock.since(start), 30_000);
});

test('a start of another page is measured by the wall clock', () => {
  const { now, clock } = hands();
  const start = { wallMS: now.wall - 41_000, monoMS: 9_999_999, run: 'before the page was killed' };
  assert.equal(clock.since(start), 41_000);
});

test('a tap counts from when it happened, not from when it was handled', () => {
  const { now, clock } = hands();
  const read = clock.read(now.mono - 30);
  assert.deepEqual([read.wallMS, read.monoMS], [now.wall - 30, now.mono - 30]);
});

test('a stamp from another clock is not believed', () => {
  const { now, clock } = hands();
  for (const stamp of [0, now.wall, now.mono + 50]) {
    assert.equal(clock.read(stamp).monoMS, now.mono, `stamp ${stamp}`);
  }
});
