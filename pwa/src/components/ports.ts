import type { Action, Cue, Reading } from '../views';

/**
 * Tells a screen how long something has been running. A screen reads no clock: it asks here, and
 * the adapter answers from the clock that can be trusted (monotonic within one run of the page,
 * wall across runs).
 */
export interface Ticker {
  /**
   * Calls `tick` at once and then several times a second with the milliseconds since `since`
   * (negative while `since` lies ahead). Returns how to stop.
   */
  watch(since: Reading, tick: (elapsedMS: number) => void): () => void;
}

/** Plays cues, whose times count from the reading. */
export interface Sounder {
  play(cues: readonly Cue[], from: Reading): void;
  stop(): void;
}

/** Sends an action's command; `extra` is added to its args (values of a form, a typed value). */
export type Send = (action: Action, extra?: { readonly [name: string]: unknown }) => void;

/** Opens another screen. */
export type Go = (route: string) => void;

/** What every screen is given beside its view. */
export interface Ports {
  readonly send: Send;
  readonly go: Go;
  readonly ticker: Ticker;
  readonly sound: Sounder;
}
