/** What the core wants to have stored, and the same applied to rows in memory. */
export type StoreName = CoreStore | 'view';

/** The stores that the core is started from; views are pictures for the first paint only. */
export type CoreStore = 'meta' | 'snap' | 'log' | 'run';

/** A change of one row, or the removal of all from `range[0]` to `range[1]`, both included. */
export interface Write {
  readonly store: StoreName;
  readonly key?: string;
  /** Which blob of the answer is the row's value. */
  readonly blob?: number;
  readonly json?: unknown;
  readonly delete?: boolean;
  readonly range?: readonly [string, string];
}

/** A write with its value in hand, so that it can be kept until storage takes it. */
export type Change =
  | { readonly store: StoreName; readonly key: string; readonly value: unknown }
  | { readonly store: StoreName; readonly from: string; readonly last: string };

/** Resolves the writes of one answer. Throws a TypeError for a write that says nothing. */
export function changesOf(writes: readonly Write[], blobs: readonly Uint8Array[]): Change[] {
  return writes.map((write) => {
    const { store, key } = write;
    if (write.range) return { store, from: write.range[0], last: write.range[1] };
    if (key === undefined) throw new TypeError(`a write to ${store} names no key`);
    if (write.delete) return { store, from: key, last: key };
    const value = write.blob === undefined ? write.json : blobs[write.blob];
    if (value === undefined) throw new TypeError(`a write to ${store}/${key} has no value`);
    return { store, key, value };
  });
}

/** All rows of the core's stores, in memory. */
export type Rows = Readonly<Record<CoreStore, Map<string, unknown>>>;

/** Applies changes to rows as storage would. */
export function applyTo(rows: Rows, changes: readonly Change[]): void {
  for (const change of changes) {
    if (change.store === 'view') continue;
    const store = rows[change.store];
    if ('key' in change) {
      store.set(change.key, change.value);
      continue;
    }
    for (const key of [...store.keys()]) {
      if (key >= change.from && key <= change.last) store.delete(key);
    }
  }
}
