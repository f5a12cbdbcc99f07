/**
 * The view that was last shown, for the first paint: before the worker or the core are there. It
 * reads three rows and is done, so it asks the browser itself instead of the worker's library.
 */
import { isLock, storageName, unseal, type Lock } from '../sealing';
import type { View } from '../views';

/** The stored view of a route, or of the last one; undefined on a new phone and on a locked one. */
export async function lastView(route: string): Promise<View | undefined> {
  let db: IDBDatabase | undefined;
  try {
    const opening = indexedDB.open(storageName);
    // Nothing is there yet: the worker makes the storage, and this leaves it to do so.
    opening.onupgradeneeded = () => opening.transaction!.abort();
    db = await done(opening);
    const key = await read<CryptoKey | Lock>(db, 'seal', 'now');
    let place = route;
    let row = await read<unknown>(db, 'view', place);
    if (row === undefined) row = await read(db, 'view', (place = 'last'));
    if (isLock(key)) return undefined;
    if (row === undefined || key === undefined) return row as View | undefined;
    return (await unseal(key, `view/${place}`, row)) as View;
  } catch (cause: unknown) {
    console.warn(cause); // no picture of the past: the core will draw
    return undefined;
  } finally {
    db?.close(); // an open one would keep the worker from a newer version's storage
  }
}

function read<T>(db: IDBDatabase, store: string, key: string): Promise<T | undefined> {
  return done<T | undefined>(db.transaction(store).objectStore(store).get(key));
}

function done<T>(asked: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}
