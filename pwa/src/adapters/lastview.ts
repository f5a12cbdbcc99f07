/** The view that was last shown, for the first paint: before the worker or the core are there. */
import { openStorage } from '../schema';
import { isLock, unseal } from '../sealing';
import type { View } from '../views';

/** The stored view of a route, or of the last one; undefined on a new phone and on a locked one. */
export async function lastView(route: string): Promise<View | undefined> {
  try {
    const db = await openStorage(() => undefined);
    const key = await db.get('seal', 'now');
    let place = route;
    let row = await db.get('view', place);
    if (row === undefined) row = await db.get('view', (place = 'last'));
    db.close();
    if (isLock(key)) return undefined;
    if (row === undefined || key === undefined) return row as View | undefined;
    return (await unseal(key, `view/${place}`, row)) as View;
  } catch (cause: unknown) {
    console.warn(cause); // no picture of the past: the core will draw
    return undefined;
  }
}
