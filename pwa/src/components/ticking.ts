import { useLayoutEffect, useState } from 'preact/hooks';
import type { Reading } from '../views';
import type { Ticker } from './ports';

/**
 * What `pick` makes of the milliseconds since `since`; the component is drawn again only when that
 * changes, so a face of whole seconds is drawn once a second. Undefined without a reading.
 */
export function useTicking<T extends string | number>(
  ticker: Ticker,
  since: Reading | undefined,
  pick: (elapsedMS: number) => T,
): T | undefined {
  const [picked, setPicked] = useState<T>();
  useLayoutEffect(() => {
    if (!since) return setPicked(undefined);
    return ticker.watch(since, (elapsedMS) => setPicked(pick(elapsedMS)));
  }, [ticker, since?.run, since?.monoMS, since?.wallMS]);
  return picked;
}

/** Whole seconds since, never below 0. */
export const wholeSeconds = (elapsedMS: number) => Math.max(0, Math.floor(elapsedMS / 1000));

/** Whole seconds until a reading that lies ahead, never below 0. */
export const secondsUntil = (elapsedMS: number) => Math.max(0, Math.ceil(-elapsedMS / 1000));
