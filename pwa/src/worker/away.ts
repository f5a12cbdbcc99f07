/** How long nobody has looked at the app, by whichever clock saw more: one stands still in sleep. */
interface Moment {
  readonly wallMS: number;
  readonly monoMS: number;
}

/** A session that was left lying keeps the phone open so long, and no longer. */
const leftMinutes = 120;

export class Away {
  private since: Moment | undefined;

  /** Someone looks, or nobody does; told more than once it counts from the first time. */
  seen(visible: boolean, now: Moment): void {
    this.since = visible ? undefined : this.since ?? now;
  }

  /** The milliseconds until the phone is to lock, 0 for now; undefined while someone looks. */
  leftMS(minutes: number, isUnderWay: boolean, now: Moment): number | undefined {
    if (!this.since) return undefined;
    const wallMS = now.wallMS - this.since.wallMS;
    const goneMS = Math.max(wallMS, now.monoMS - this.since.monoMS);
    const allowed = isUnderWay ? Math.max(minutes, leftMinutes) : minutes;
    return Math.max(allowed * 60_000 - goneMS, 0);
  }
}
