import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Away } from './away';

const minute = 60_000;
const at = (wall: number, mono = wall) => ({ wallMS: wall * minute, monoMS: mono * minute });

test('nothing locks while someone looks', () => {
  const away = new Away();
  assert.equal(away.leftMS(5, false, at(999)), undefined);
  away.seen(false, at(0));
  away.seen(true, at(1));
  assert.equal(away.leftMS(5, false, at(999)), undefined);
});

test('the phone locks when nobody has looked for the minutes that were chosen', () => {
  const away = new Away();
  away.seen(false, at(0));
  away.seen(false, at(3)); // told again: it counts from the first time
  assert.equal(away.leftMS(5, false, at(3)), 2 * minute);
  assert.equal(away.leftMS(5, false, at(5)), 0);
});

test('a session keeps it open for two hours', () => {
  const away = new Away();
  away.seen(false, at(0));
  assert.equal(away.leftMS(5, true, at(119)), minute);
  assert.equal(away.leftMS(5, true, at(120)), 0);
});

test('a clock that is set back, or that stood still in sleep, keeps nothing open', () => {
  const away = new Away();
  away.seen(false, at(100, 100));
  assert.equal(away.leftMS(5, false, at(0, 105)), 0);
  assert.equal(away.leftMS(5, false, at(105, 100)), 0);
});
