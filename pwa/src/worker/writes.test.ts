import assert from 'node:assert/strict';
import { test } from 'node:test';
import { applyTo, changesOf, type Rows } from './writes';

const fresh = (): Rows => ({ meta: new Map(), snap: new Map(), log: new Map(), run: new Map() });

test('writes are resolved with their blobs and applied in order', () => {
  const rows = fresh();
  const blobs = [new Uint8Array([1]), new Uint8Array([2])];
  applyTo(rows, changesOf([
    { store: 'log', key: 'a1', blob: 1 },
    { store: 'log', key: 'a2', blob: 0 },
    { store: 'log', key: 'b1', blob: 0 },
    { store: 'meta', key: 'me', json: { name: 'x' } },
    { store: 'meta', key: 'none', json: null },
    { store: 'log', range: ['a1', 'a2'] },
    { store: 'snap', key: 's', blob: 0 },
    { store: 'snap', key: 's', delete: true },
    { store: 'view', key: 'last', json: {} },
  ], blobs));
  assert.deepEqual([...rows.log], [['b1', blobs[0]]]);
  assert.deepEqual([...rows.meta], [['me', { name: 'x' }], ['none', null]]);
  assert.equal(rows.snap.size, 0);
});

test('a write that says nothing is refused before anything is stored', () => {
  assert.throws(() => changesOf([{ store: 'log', blob: 0 }], [new Uint8Array()]), TypeError);
  assert.throws(() => changesOf([{ store: 'log', key: 'a', blob: 3 }], []), TypeError);
});
