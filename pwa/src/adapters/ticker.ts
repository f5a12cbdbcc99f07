/**
 * Shows how long something has been running. Nothing is counted: each tick works the time out anew
 * from its start, so a page that slept shows the right time when it wakes.
 */
import type { Reading } from '../views';
import { clock } from './clock';

/** Short enough that a whole second is never shown late enough to be seen. */
const everyMS = 100;

/**
 * Calls `tick` at once and then every tenth of a second with the milliseconds since `start`
 * (negative while it lies ahead). Returns how to stop.
 */
export function watch(start: Reading, tick: (elapsedMS: number) => void): () => void {
  tick(clock.since(start));
  const timer = setInterval(() => tick(clock.since(start)), everyMS);
  const wake = (): void => {
    if (document.visibilityState === 'visible') tick(clock.since(start));
  };
  document.addEventListener('visibilitychange', wake);
  return () => {
    clearInterval(timer);
    document.removeEventListener('visibilitychange', wake);
  };
}
