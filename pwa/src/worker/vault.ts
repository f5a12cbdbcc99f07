/**
 * The phone's storage as its one writer sees it. A change is stored before anyone is told so, with
 * strict durability; what storage refuses is kept in memory, in order, and goes first next time.
 */
import type { IDBPTransaction } from 'idb';
import type { PasskeySaid } from '../answer';
import { openStorage, type Database, type Schema } from '../schema';
import { isLock, makeKey, seal, unseal, type Lock, type Prefs } from '../sealing';
import { addPasskey, makeLock, openByPasskey, openLock, type Facts } from './lock';
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
  private kept: Lock | undefined;
  /** The key of a lock that was set since this vault was opened. */
  private inner: CryptoKey | undefined;
  private facts: Facts = { unsent: 0, underWay: false };

  /** `token` tells this writer from every other: random, made for this vault. */
  constructor(private readonly token: string) {}

  /** How many changes storage has not taken yet. */
  get unsaved(): number {
    return this.waiting.length;
  }

  /** The lock of this phone, if it has one. */
  get lock(): Lock | undefined {
    return this.kept;
  }

  /** Whether nothing can be read or stored until unlock() has been given the PIN. */
  get isLocked(): boolean {
    return this.kept !== undefined && this.key === undefined;
  }

  /** Whether this browser can seal rows at all: a page that was not served securely cannot. */
  get canSeal(): boolean {
    return (crypto as Partial<Crypto>).subtle !== undefined;
  }

  /** Makes this the one writer: from now on, older ones are refused. */
  async take(): Promise<void> {
    const db = await this.open();
    await db.put('writer', this.token, 'now');
    const kept = await db.get('seal', 'now');
    if (isLock(kept)) this.kept = kept;
    else this.key = kept;
    // What an earlier version stored in the clear.
    if (kept === undefined && this.canSeal) await this.removeLock();
  }

  /** Puts a lock before the key. The key is a new one: an old one may lie in copied files. */
  async setLock(pin: string, minutes: number): Promise<void> {
    const { lock, key, inner } = await makeLock(pin, { minutes, ...this.facts });
    await this.reseal(key, lock);
    this.kept = lock;
    this.inner = inner;
  }

  /** Whether addPasskey() can be called: the PIN was set a moment ago, and alone opens the lock. */
  get takesPasskey(): boolean {
    return this.inner !== undefined && this.kept !== undefined && !this.kept.passkey;
  }

  /** Has a passkey open the lock, too. A new PIN takes it off. */
  async addPasskey(said: PasskeySaid): Promise<void> {
    await this.putLock(await addPasskey(this.kept!, this.inner!, said));
  }

  /** From now on the browser keeps the key, a new one. */
  async removeLock(): Promise<void> {
    const key = await makeKey();
    await this.reseal(key, key);
    this.kept = undefined;
  }

  /** Whether this is the PIN. A try is stored before it is looked at: a killed page saves none. */
  async unlock(pin: string, nowMS: number): Promise<boolean> {
    const lock = this.kept!;
    await this.putLock({ ...lock, tries: lock.tries + 1, lastMS: nowMS });
    return this.opened(lock, await openLock(lock, pin));
  }

  /** Whether this is the lock's passkey. It cannot be guessed: no try is counted. */
  async unlockBy({ secret }: PasskeySaid): Promise<boolean> {
    return this.opened(this.kept!, await openByPasskey(this.kept!, secret));
  }

  private async opened(lock: Lock, key: CryptoKey | undefined): Promise<boolean> {
    if (key === undefined) return false;
    const { unsent, underWay, prefs } = lock;
    this.facts = { unsent, underWay, ...(prefs && { prefs }) };
    await this.putLock({ ...lock, tries: 0, lastMS: 0 });
    this.key = key;
    return true;
  }

  /** A clock that was ahead must not make anyone wait for years: the wait starts anew. */
  async setBack(nowMS: number): Promise<void> {
    if (this.kept && this.kept.lastMS > nowMS) await this.putLock({ ...this.kept, lastMS: nowMS });
  }

  /** Forgets the key. Whoever locks sees to it that nothing waits. */
  close(): void {
    this.key = undefined;
    this.inner = undefined;
  }

  /** Takes everything off the phone, the lock too. */
  async wipe(): Promise<void> {
    this.waiting = [];
    this.key = undefined;
    await this.inOne(await this.open(), 'strict', (tx) => {
      for (const store of [...coreStores, 'view', 'seal'] as const) {
        heard(tx.objectStore(store).clear());
      }
    });
    this.kept = undefined;
    await this.take();
  }

  /** What a lock says while it is shut; stored with the next save. */
  note(unsent: number, underWay: boolean, prefs: Prefs | undefined): void {
    this.facts = { ...this.facts, unsent, underWay, ...(prefs && { prefs }) };
  }

  private async putLock(lock: Lock): Promise<void> {
    await this.inOne(await this.open(), 'strict', (tx) => {
      heard(tx.objectStore('seal').put(lock, 'now'));
    });
    this.kept = lock;
  }

  /**
   * Seals every row anew, in one transaction with what keeps the key: a phone that dies meanwhile
   * holds the old rows or the new ones. Old pictures go. A row that does not open stays as it lies.
   */
  private async reseal(key: CryptoKey, kept: CryptoKey | Lock): Promise<void> {
    const db = await this.open();
    const rows = await this.rows();
    const changes = coreStores.flatMap((store) => [...rows[store]]
      .filter(([, value]) => value !== damaged.bytes && value !== damaged.json)
      .map(([at, value]) => ({ store, key: at, value })));
    const sealed = await sealEach(key, changes);
    await this.inOne(db, 'strict', (tx) => {
      for (const row of sealed) put(tx, row);
      heard(tx.objectStore('view').clear());
      heard(tx.objectStore('seal').put(kept, 'now'));
    });
    this.key = key;
  }

  /** Everything stored, with what still waits to be stored laid over it. */
  async rows(): Promise<Rows> {
    this.mustBeOpen();
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
      // A phone that was emptied may change hands: the next one cannot know the PIN.
      if (this.kept && batch.some((one) => one.store === 'meta' && 'from' in one)) {
        await this.removeLock();
      }
    } else if (views.length > 0) {
      await this.again((db) => this.write(db, views, 'relaxed')).catch(onlyMoved);
    }
  }

  private async write(
    db: Database,
    changes: readonly Change[],
    durability: 'strict' | 'relaxed',
  ): Promise<void> {
    this.mustBeOpen();
    const lock = this.kept && { ...this.kept, ...this.facts };
    // Sealed first: a transaction ends when it waits for anything but storage.
    const sealed = this.key ? await sealEach(this.key, changes) : changes;
    await this.inOne(db, durability, (tx) => {
      for (const change of sealed) put(tx, change);
      if (lock) heard(tx.objectStore('seal').put(lock, 'now'));
    });
    this.kept = lock;
  }

  // Without the key rows would be stored in the clear.
  private mustBeOpen(): void {
    if (this.isLocked) throw new Error('the phone is locked');
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
