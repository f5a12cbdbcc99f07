/** The view that was last shown, for the first paint: before the worker or the core are there. */
import { openStorage } from '../schema';
import type { View } from '../views';

/** The stored view of a route, or of the last one; undefined on a new phone. */
export async function lastView(route: string): Promise<View | undefined> {
  try {
    const db = await openStorage(() => undefined);
    const view = (await db.get('view', route)) ?? (await db.get('view', 'last'));
    db.close();
    return view;
  } catch (cause: unknown) {
    console.warn(cause); // no picture of the past: the core will draw
    return undefined;
  }
}
