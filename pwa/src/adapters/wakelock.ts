/**
 * Keeps the screen on while something runs. The browser drops the lock whenever the page is hidden
 * and may refuse it (low battery); all else works without, so the page only says so.
 */
export type WakeState =
  | 'off'
  | 'on'
  /** Wanted, but this phone does not give it. */
  | 'refused';

type Listener = (state: WakeState) => void;

let wanted = false;
let asking = false;
let lock: WakeLockSentinel | undefined;
let listener: Listener = () => undefined;

/** Calls `changed` whenever the screen starts or stops being kept on. */
export function onWake(changed: Listener): void {
  listener = changed;
}

/** Keeps the screen on from now on, or no longer. */
export function keepAwake(wish: boolean): void {
  if (wish === wanted) return;
  wanted = wish;
  if (wish) {
    void ask();
    return;
  }
  void lock?.release();
  lock = undefined;
  listener('off');
}

async function ask(): Promise<void> {
  if (!wanted || lock || asking || document.visibilityState !== 'visible') return;
  asking = true;
  try {
    const given = await navigator.wakeLock.request('screen');
    given.addEventListener('release', () => {
      if (lock === given) lock = undefined;
    });
    if (wanted) lock = given;
    else void given.release();
    listener(wanted ? 'on' : 'off');
  } catch {
    listener(wanted ? 'refused' : 'off'); // no such thing here, or not now
  } finally {
    asking = false;
  }
}

document.addEventListener('visibilitychange', () => void ask());
// Some phones give it again only after a tap.
document.addEventListener('pointerup', () => void ask());
