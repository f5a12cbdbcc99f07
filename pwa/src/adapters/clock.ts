/**
 * The page's two clocks. The monotonic one measures, but stops while most phones sleep; the wall
 * clock goes on, but can be set. A reading names its run: one run of the page over which the
 * monotonic clock has not stopped. Two readings of one run are told apart by the monotonic clock,
 * two of different runs by the wall clock.
 */
import type { Reading } from '../views';

/** The clocks must have drifted apart by this much while hidden to count as a sleep. */
const sleepMS = 250;

/** What the clock reads from; the browser's own unless a test brings others. */
export interface Sources {
  readonly wallMS: () => number;
  readonly monoMS: () => number;
  readonly name: () => string;
}

export class Clock {
  private run: string;
  private hiddenAt: number | undefined;

  constructor(private readonly from: Sources) {
    this.run = from.name();
  }

  /** Both clocks now, or at `eventMS`, the time stamp of a tap on the monotonic clock. */
  read(eventMS?: number): Reading {
    const mono = this.from.monoMS();
    const ago = eventMS === undefined ? 0 : mono - eventMS;
    // A stamp from a synthetic event may be 0 or on another clock.
    const back = ago > 0 && ago < 1_000 ? ago : 0;
    return {
      wallMS: Math.round(this.from.wallMS() - back),
      monoMS: Math.round(mono - back),
      run: this.run,
    };
  }

  /** Milliseconds since a reading; negative while it lies ahead. */
  since(start: Reading): number {
    return start.run === this.run
      ? this.from.monoMS() - start.monoMS
      : this.from.wallMS() - start.wallMS;
  }

  /** The page was hidden: from here on the phone may sleep. */
  hide(): void {
    this.hiddenAt = this.apart();
  }

  /** The page is back. A new run begins if the phone slept meanwhile. */
  show(): void {
    if (this.hiddenAt !== undefined && Math.abs(this.apart() - this.hiddenAt) > sleepMS) {
      this.run = this.from.name();
    }
    this.hiddenAt = undefined;
  }

  private apart(): number {
    return this.from.wallMS() - this.from.monoMS();
  }
}

/** The clock of this page. */
export const clock = new Clock({
  wallMS: () => Date.now(),
  monoMS: () => performance.now(),
  name: () => {
    const bytes = crypto.getRandomValues(new Uint8Array(8));
    return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
  },
});

/** The clocks at the event that is being handled, if one is. */
export function readAtEvent(): Reading {
  return clock.read(window.event?.timeStamp);
}
