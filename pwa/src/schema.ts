/**
 * The phone's storage. A new version only adds stores: an upgrade never deletes what a person has
 * entered. Keys are strings. Where the browser has a key for this phone, 'seal' holds it, and every
 * value of meta, snap, log, run and view is sealed with it (sealing.ts).
 */
import { openDB, type DBSchema, type IDBPDatabase } from 'idb';
import type { Lock } from './sealing';

export interface Schema extends DBSchema {
  /** Small facts of the core, as JSON. */
  meta: { key: string; value: unknown };
  /** Snapshots of documents. */
  snap: { key: string; value: unknown };
  /** Operations since a snapshot, in the order of their keys. */
  log: { key: string; value: unknown };
  /** Running holds and sessions, as JSON. */
  run: { key: string; value: unknown };
  /** The last view of each route, and of all routes under 'last'. */
  view: { key: string; value: unknown };
  /** One row, 'now': which worker may write. */
  writer: { key: string; value: string };
  /**
   * One row, 'now': the key of the rows, or the lock that holds it. A version of the app that knows
   * no locks can neither read nor overwrite the rows then: it takes the lock for a key.
   */
  seal: { key: string; value: CryptoKey | Lock };
}

export type Database = IDBPDatabase<Schema>;

const stores = ['meta', 'snap', 'log', 'run', 'view', 'writer', 'seal'] as const;

/** Opens the storage; `onLost` is called when the browser has closed it behind our back. */
export function openStorage(onLost: () => void): Promise<Database> {
  const opened: Promise<Database> = openDB<Schema>('evenhold', 2, {
    upgrade(db) {
      for (const name of stores) {
        if (!db.objectStoreNames.contains(name)) db.createObjectStore(name);
      }
    },
    // A newer version of the app in another tab wants to upgrade: let go, it has the lock.
    blocking: () => {
      void opened.then((db) => db.close());
      onLost();
    },
    terminated: onLost,
  });
  return opened;
}
