import assert from 'node:assert/strict';
import { test } from 'node:test';
import { backoffMS, retryAfterMS } from './backoff';

// "sleep = random between 0 and min(cap, base * 2 ** attempt)": "Exponential Backoff and Jitter",
// AWS Architecture Blog, 2015, full jitter; base 1 s and cap 60 s are ours.
test('the wait is anything under a doubling ceiling', () => {
  const ceilings = [2_000, 4_000, 8_000, 16_000, 32_000, 60_000, 60_000];
  ceilings.forEach((ceiling, i) => {
    assert.equal(backoffMS(i + 1, 0), 0);
    assert.equal(backoffMS(i + 1, 0.5), ceiling / 2);
    assert.ok(backoffMS(i + 1, 1 - 2 ** -32) < ceiling);
  });
});

test('many failures do not overflow', () => {
  assert.equal(backoffMS(5_000, 0.5), 30_000);
});

// Both forms are the examples of RFC 9110 (June 2022), section 10.2.3.
test('a server says when to come back, in seconds or by date', () => {
  const now = Date.UTC(1999, 11, 31, 23, 59, 0);
  assert.equal(retryAfterMS('120', now), 120_000);
  assert.equal(retryAfterMS('Fri, 31 Dec 1999 23:59:59 GMT', now), 59_000);
});

test('a header that says nothing asks for no wait', () => {
  for (const header of [null, '', 'soon', '-5', '1e9']) assert.equal(retryAfterMS(header, 0), 0);
  assert.equal(retryAfterMS('Fri, 31 Dec 1999 23:59:59 GMT', Date.UTC(2020, 0, 1)), 0);
});
