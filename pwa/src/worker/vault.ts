/**
 * The phone's storage as its one writer sees it. A change is stored before anyone is told so, with
 * strict durability; what storage refuses is kept in memory, in order, and goes first next time.
 */
import { openStorage, type Database } from '../schema';
import { applyTo, type Change, type CoreStore, type Rows } from './writes';

const coreStores: readonly CoreStore[] = ['meta', 'snap', 'log', 'run'];
const written: readonly (CoreStore | 'view' | 'writer')[] = [...coreStores, 'view', 'writer'];

/** Another tab has taken the storage over: this one must not write. */
export class Moved extends Error {}

export class Vault {
  private db: Database | undefined;
  private waiting: Change[] = [];

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
    const tx = db.transaction(written, 'readwrite', { durability });
    const done = tx.done;
    done.catch(() => undefined); // awaited below: without this, an early throw leaves it unheard
    if ((await tx.objectStore('writer').get('now')) !== this.token) {
      tx.abort();
      throw new Moved('another tab writes');
    }
    for (const change of changes) {
      const store = tx.objectStore<CoreStore | 'view'>(change.store);
      const request: Promise<unknown> = 'key' in change
        ? store.put(change.value as never, change.key)
        : store.delete(IDBKeyRange.bound(change.from, change.last));
      request.catch(() => undefined); // a failed request aborts the transaction, which is awaited
    }
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
