/**
 * The phone's storage as its one writer sees it. A change is stored before anyone is told so, with
 * strict durability; what storage refuses is kept in memory, in order, and goes first next time.
 */
import type { IDBPTransaction } from 'idb';
import { openStorage, type Database, type Schema } from '../schema';
import { makeKey, seal, unseal } from '../sealing';
import { applyTo, type Change, type CoreStore, type Rows } from './writes';

const coreStores: readonly CoreStore[] = ['meta', 'snap', 'log', 'run'];
const written = [...coreStores, 'view', 'writer', 'seal'] as const;

/** Stands for a row that does not open: the core says so, and leaves the row alone. */
const damaged = { bytes: new Uint8Array(0), json: '?' } as const;

/** Another tab has taken the storage over: this one must not write. */
export class Moved extends Error {}

export class Vault {
  private db: Database | undefined;
  private waiting: Change[] = [];
  private key: CryptoKey | undefined;

  /** `token` tells this writer from every other: random, made for this vault. */
  constructor(private readonly token: string) {}

  /** How many changes storage has not taken yet. */
  get unsaved(): number {
    return this.waiting.length;
  }

  /** Makes this the one writer: from now on, older ones are refused. */
  async take(): Promise<void> {
    const db = await this.open();
    await db.put('writer', this.token, 'now');
    this.key = await db.get('seal', 'now');
    if (this.key === undefined) await this.sealAll(db);
  }

  /**
   * Seals what an earlier version stored in the clear, in one transaction with the key: a phone that
   * dies meanwhile holds the old rows or the new ones. Old pictures go. A page that was not served
   * securely has no keys and leaves the rows as they are.
   */
  private async sealAll(db: Database): Promise<void> {
    if ((crypto as Partial<Crypto>).subtle === undefined) return;
    const rows = await this.rows();
    const key = await makeKey();
    const changes = coreStores.flatMap((store) =>
      [...rows[store]].map(([at, value]) => ({ store, key: at, value })));
    const sealed = await sealEach(key, changes);
    await this.inOne(db, 'strict', (tx) => {
      for (const row of sealed) put(tx, row);
      heard(tx.objectStore('view').clear());
      heard(tx.objectStore('seal').put(key, 'now'));
    });
    this.key = key;
  }

  /** Everything stored, with what still waits to be stored laid over it. */
  async rows(): Promise<Rows> {
    const rows: Rows = { meta: new Map(), snap: new Map(), log: new Map(), run: new Map() };
    await this.again(async (db) => {
      const tx = db.transaction(coreStores, 'readonly');
      await Promise.all(coreStores.map(async (name) => {
        const store = tx.objectStore(name);
        const [keys, values] = await Promise.all([store.getAllKeys(), store.getAll()]);
        rows[name].clear();
        keys.forEach((key, i) => rows[name].set(key, values[i]));
      }));
    });
    if (this.key) await unsealAll(this.key, rows);
    applyTo(rows, this.waiting);
    return rows;
  }

  /**
   * Stores the changes, and all that waited before them, in one transaction. When this returns they
   * are on the disk. Throws Moved, or the browser's reason; the changes then wait. Views are
   * pictures, not data: they alone are written without the wait for the disk, and one that fails is
   * dropped.
   */
  async save(changes: readonly Change[]): Promise<void> {
    const views = changes.filter((change) => change.store === 'view');
    this.waiting.push(...changes.filter((change) => change.store !== 'view'));
    const batch = [...this.waiting];
    if (batch.length > 0) {
      await this.again((db) => this.write(db, [...batch, ...views], 'strict'));
      this.waiting = this.waiting.slice(batch.length);
    } else if (views.length > 0) {
      await this.again((db) => this.write(db, views, 'relaxed')).catch(onlyMoved);
    }
  }

  private async write(
    db: Database,
    changes: readonly Change[],
    durability: 'strict' | 'relaxed',
  ): Promise<void> {
    // Sealed first: a transaction ends when it waits for anything but storage.
    const sealed = this.key ? await sealEach(this.key, changes) : changes;
    await this.inOne(db, durability, (tx) => {
      for (const change of sealed) put(tx, change);
    });
  }

  /** One transaction of this writer. Throws Moved, and changes nothing, when it is another's turn. */
  private async inOne(
    db: Database,
    durability: 'strict' | 'relaxed',
    run: (tx: Transaction) => void,
  ): Promise<void> {
    const tx = db.transaction(written, 'readwrite', { durability });
    const done = tx.done;
    done.catch(() => undefined); // awaited below: without this, an early throw leaves it unheard
    if ((await tx.objectStore('writer').get('now')) !== this.token) {
      tx.abort();
      throw new Moved('another tab writes');
    }
    run(tx);
    await done;
  }

  // A phone that was in the background may have lost the connection: one more try on a new one.
  private async again(run: (db: Database) => Promise<void>): Promise<void> {
    try {
      await run(await this.open());
    } catch (cause: unknown) {
      if (cause instanceof Moved) throw cause;
      if (cause instanceof DOMException && cause.name === 'QuotaExceededError') throw cause;
      this.db?.close();
      this.db = undefined;
      await run(await this.open());
    }
  }

  private async open(): Promise<Database> {
    this.db ??= await openStorage(() => {
      this.db = undefined;
    });
    return this.db;
  }
}

function onlyMoved(cause: unknown): void {
  if (cause instanceof Moved) throw cause;
  console.warn(cause);
}

type Transaction = IDBPTransaction<Schema, typeof written, 'readwrite'>;

function put(tx: Transaction, change: Change): void {
  const store = tx.objectStore(change.store);
  heard('key' in change
    ? store.put(change.value, change.key)
    : store.delete(IDBKeyRange.bound(change.from, change.last)));
}

/** A failed request aborts its transaction, which is awaited: nobody needs to hear of it twice. */
function heard(request: Promise<unknown>): void {
  request.catch(() => undefined);
}

function sealEach(key: CryptoKey, changes: readonly Change[]): Promise<Change[]> {
  return Promise.all(changes.map(async (change) => {
    if (!('key' in change)) return change;
    const value = await seal(key, `${change.store}/${change.key}`, change.value);
    return { ...change, value };
  }));
}

async function unsealAll(key: CryptoKey, rows: Rows): Promise<void> {
  await Promise.all(coreStores.flatMap((store) => [...rows[store]].map(async ([at, row]) => {
    const lost = store === 'snap' || store === 'log' ? damaged.bytes : damaged.json;
    const value = await unseal(key, `${store}/${at}`, row).catch(() => lost);
    rows[store].set(at, value);
  })));
}
