import assert from 'node:assert/strict';
import { test } from 'node:test';
import { decodeFrame, encodeFrame } from './frames';

// Worked by hand from the form in the head of frames.ts: lengths are little-endian, and "é" is two
// bytes in UTF-8 (RFC 3629, November 2003, section 3).
test('a frame is lengths and parts in turn', () => {
  const bytes = encodeFrame({ a: 'é' }, [new Uint8Array([7]), new Uint8Array([])]);
  assert.deepEqual([...bytes], [
    10, 0, 0, 0, 0x7b, 0x22, 0x61, 0x22, 0x3a, 0x22, 0xc3, 0xa9, 0x22, 0x7d,
    1, 0, 0, 0, 7,
    0, 0, 0, 0,
  ]);
});

test('what was put in comes out', () => {
  const blobs = [new Uint8Array(70_000).fill(3), new Uint8Array([1, 2])];
  const frame = decodeFrame(encodeFrame({ n: [1, null] }, blobs));
  assert.deepEqual(frame.json, { n: [1, null] });
  assert.deepEqual(frame.blobs, blobs);
});

test('a frame is read from the middle of a larger memory', () => {
  const memory = new Uint8Array(40).fill(255);
  const bytes = encodeFrame('x', [new Uint8Array([9])]);
  memory.set(bytes, 5);
  const frame = decodeFrame(memory.subarray(5, 5 + bytes.length));
  assert.equal(frame.json, 'x');
  memory.fill(0); // the blob is a copy: the core reuses its memory
  assert.deepEqual([...frame.blobs[0]!], [9]);
});

test('bytes that are cut short are refused at every length', () => {
  const bytes = encodeFrame({ a: 1 }, [new Uint8Array([1, 2, 3])]);
  const whole = 4 + 7; // the JSON alone is a frame too
  for (let n = 0; n < bytes.length; n++) {
    if (n === whole) continue;
    assert.throws(() => decodeFrame(bytes.subarray(0, n)), RangeError, `${n} bytes`);
  }
});
