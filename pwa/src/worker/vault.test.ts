import assert from 'node:assert/strict';
import { beforeEach, test } from 'node:test';
import 'fake-indexeddb/auto';
import { IDBFactory } from 'fake-indexeddb';
import { lastView } from '../adapters/lastview';
import { makeKey, seal, unseal } from '../sealing';
import { Moved, Vault } from './vault';
import type { Change, Rows } from './writes';

beforeEach(() => {
  globalThis.indexedDB = new IDBFactory();
});

const stores = ['meta', 'snap', 'log', 'run', 'view'];
const marker = 'PAINMARKER';
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

const changes: readonly Change[] = [
  { store: 'meta', key: 'me', value: { name: marker } },
  { store: 'snap', key: 's', value: bytes(`snap ${marker}`) },
  ...Array.from({ length: 50 }, (_, i): Change =>
    ({ store: 'log', key: `l${i}`, value: bytes(`${marker} ${i}`) })),
  { store: 'run', key: 'test:1', value: { note: marker } },
];
const view = { screen: 'notice', route: '/p', finding: { k: marker } };

function open(version?: number, upgrade?: (db: IDBDatabase) => void): Promise<IDBDatabase> {
  return new Promise((done, fail) => {
    const request = indexedDB.open('evenhold', version);
    request.onupgradeneeded = () => upgrade?.(request.result);
    request.onerror = () => fail(request.error);
    request.onsuccess = () => done(request.result);
  });
}

/** Runs one transaction over all stores and waits for it. */
async function raw(run: (tx: IDBTransaction) => void): Promise<void> {
  const db = await open();
  const tx = db.transaction([...db.objectStoreNames], 'readwrite');
  run(tx);
  await new Promise((done) => (tx.oncomplete = done));
  db.close();
}

/** Every row as it lies there, as text that holds each of its bytes as a character. */
async function lying(): Promise<string[]> {
  const found: IDBRequest[] = [];
  await raw((tx) => stores.forEach((name) => found.push(tx.objectStore(name).getAll())));
  const text = (value: unknown): string => {
    if (value instanceof ArrayBuffer) return text(new Uint8Array(value));
    if (value instanceof Uint8Array) return Buffer.from(value).toString('latin1');
    if (typeof value !== 'object' || value === null) return String(value);
    return Object.values(value).map(text).join(' ');
  };
  return found.flatMap((request) => (request.result as unknown[]).map(text));
}

/** A phone as the first version left it: every row in the clear. */
async function oldPhone(): Promise<void> {
  const db = await open(1, (made) => {
    for (const name of [...stores, 'writer']) made.createObjectStore(name);
  });
  db.close();
  await raw((tx) => {
    for (const change of changes) {
      if ('key' in change) tx.objectStore(change.store).put(change.value, change.key);
    }
    tx.objectStore('view').put(view, '/p');
  });
}

async function opened(token = 'a'): Promise<Vault> {
  const vault = new Vault(token);
  await vault.take();
  return vault;
}

function assertWhole(rows: Rows): void {
  for (const change of changes) {
    if (!('key' in change) || change.store === 'view') continue;
    assert.deepEqual(rows[change.store].get(change.key), change.value, change.key);
  }
}

test('nothing that a person entered can be read where it lies', async () => {
  await (await opened()).save([...changes, { store: 'view', key: '/p', value: view }]);
  const rows = await lying();
  assert.equal(rows.length, changes.length + 1);
  assert.deepEqual(rows.filter((row) => row.includes(marker)), []);
  assertWhole(await (await opened('b')).rows());
});

test('the last picture is painted from its sealed row, by its route or the last one', async () => {
  const vault = await opened();
  assert.equal(await lastView('/p'), undefined);
  await vault.save([{ store: 'view', key: '/p', value: view },
    { store: 'view', key: 'last', value: { ...view, route: '/q' } }]);
  assert.deepEqual(await lastView('/p'), view);
  assert.equal((await lastView('/never'))?.route, '/q');
});

test('rows of the first version are sealed when the phone starts, and none is lost', async () => {
  await oldPhone();
  assert.ok((await lying()).some((row) => row.includes(marker)), 'the check sees plain rows');
  assertWhole(await (await opened()).rows());
  assert.deepEqual((await lying()).filter((row) => row.includes(marker)), []);
  assert.equal(await lastView('/p'), undefined, 'old pictures are gone');
  assertWhole(await (await opened('b')).rows());
});

test('a phone that dies while its rows are sealed has lost nothing, wherever it dies', async () => {
  const put = IDBObjectStore.prototype.put;
  // One put names the writer; then come the rows and the key.
  for (let last = 2; last <= changes.length + 2; last++) {
    globalThis.indexedDB = new IDBFactory();
    await oldPhone();
    let puts = 0;
    IDBObjectStore.prototype.put = function (this: IDBObjectStore, ...args) {
      if (++puts === last) {
        this.transaction.abort();
        throw new Error('killed');
      }
      return put.apply(this, args);
    };
    try {
      await assert.rejects(opened());
      assert.equal(puts, last);
    } finally {
      IDBObjectStore.prototype.put = put;
    }
    assertWhole(await (await opened('b')).rows());
  }
});

test('a row that was moved or changed does not open, is not passed on, and stays', async () => {
  await (await opened()).save(changes);
  let swapped: unknown;
  await raw((tx) => {
    const log = tx.objectStore('log');
    const get = log.get('l1');
    get.onsuccess = () => {
      swapped = get.result;
      log.put(get.result, 'l2');
      tx.objectStore('run').put({ note: 'planted' }, 'test:1');
    };
  });
  const rows = await (await opened('b')).rows();
  assert.deepEqual(rows.log.get('l1'), bytes(`${marker} 1`));
  assert.deepEqual(rows.log.get('l2'), new Uint8Array(0));
  assert.equal(rows.run.get('test:1'), '?');
  let kept: unknown;
  await raw((tx) => {
    const get = tx.objectStore('log').get('l2');
    get.onsuccess = () => (kept = get.result);
  });
  assert.deepEqual(kept, swapped);
});

test('a writer that is not the last one changes nothing', async () => {
  const first = await opened('a');
  await opened('b');
  await assert.rejects(first.save(changes), Moved);
  assert.deepEqual(await lying(), []);
});

test('no number is used twice', async () => {
  const key = await makeKey();
  const sealed = await Promise.all(Array.from({ length: 5_000 }, () => seal(key, 'log/1', 1)));
  assert.equal(new Set(sealed.map(({ iv }) => iv.join())).size, sealed.length);
  assert.equal(await unseal(key, 'log/1', sealed[7]), 1);
  await assert.rejects(unseal(key, 'snap/1', sealed[7]));
  await assert.rejects(crypto.subtle.exportKey('raw', key), 'the key is not handed out');
});
