/**
 * One writer per phone. Tabs queue for a lock of the browser; the person may move the work to
 * another tab, which takes the lock by force. The lock dies with its tab. Where a browser has no
 * locks (a page that was not served securely), the token in storage alone keeps writers apart.
 */
const name = 'evenhold-writer';

/** A page that is being reloaded lets go of the lock a moment after its successor asks. */
const patienceMS = 1_500;

export interface TabEvents {
  /** This tab is the writer now. */
  readonly mine: () => void;
  /** Another tab is the writer; this one waits until that closes. */
  readonly second: () => void;
  /** This tab was the writer and another has taken over. */
  readonly moved: () => void;
}

/** Queues for the lock at once. */
export function claim(events: TabEvents): void {
  if (navigator.locks === undefined) {
    events.mine();
    return;
  }
  let isMine = false;
  hold({}, () => {
    isMine = true;
    events.mine();
  }, events.moved);
  setTimeout(() => void isHeld().then((held) => {
    if (held && !isMine) events.second();
  }), patienceMS);
}

/** Whether any tab holds the lock: a slow phone may simply not have answered yet. */
async function isHeld(): Promise<boolean> {
  const { held } = await navigator.locks.query();
  return held?.some((lock) => lock.name === name) ?? false;
}

/** Takes the lock from whichever tab has it. */
export function take(events: TabEvents): void {
  hold({ steal: true }, events.mine, events.moved);
}

function hold(options: LockOptions, mine: () => void, moved: () => void): void {
  navigator.locks
    .request(name, options, () => {
      mine();
      return new Promise<never>(() => undefined); // kept for as long as the worker lives
    })
    .catch(moved);
}
