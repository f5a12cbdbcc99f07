/**
 * The page's only way to the worker: commands go out with the moment of the tap, answers and views
 * come back. Commands sent before the core is up wait in the worker, in order.
 */
import type { Answer, Args, ToPage, ToWorker } from './answer';
import type { Reading } from './views';

export interface Bridge {
  /** Sends a command of the core; the answer comes when what it wrote is stored. */
  readonly send: (command: string, args?: Args) => Promise<Answer>;
  /** Asks for another screen. */
  readonly go: (route: string) => Promise<Answer>;
  /** Tells whether somebody is looking, and whether the phone says it has a network. */
  readonly seen: (visible: boolean, online: boolean) => void;
  /** Tells that this phone has passkeys that can open its lock. */
  readonly passkeys: () => void;
  /** Moves the work from another tab to this one. */
  readonly take: () => void;
}

export interface BridgeEvents {
  /** Every answer, in order: of a command of this page, or without one. */
  readonly answer: (answer: Answer, asked: boolean) => void;
  /** What waited for storage is stored now. */
  readonly stored: () => void;
  /** What is shown is to be covered, or to be seen again. */
  readonly cover: (on: boolean) => void;
}

/** The part of a Worker that the bridge uses. */
export interface Line {
  postMessage(message: ToWorker): void;
  onmessage: ((event: MessageEvent<ToPage>) => void) | null;
}

/** Joins the page to its worker; `now` reads the clocks at the event being handled. */
export function connect(worker: Line, now: () => Reading, events: BridgeEvents): Bridge {
  const waiting = new Map<number, (answer: Answer) => void>();
  let lastID = 0;
  worker.onmessage = ({ data }) => {
    switch (data.kind) {
      case 'answer':
        events.answer(data.answer, true);
        waiting.get(data.id)?.(data.answer);
        waiting.delete(data.id);
        return;
      case 'news':
        events.answer(data.answer, false);
        return;
      case 'stored':
        events.stored();
        return;
      case 'cover':
        events.cover(data.on);
    }
  };
  worker.postMessage({ kind: 'hello' });
  const send = (command: string, args: Args = {}): Promise<Answer> => {
    const id = ++lastID;
    worker.postMessage({ kind: 'command', id, do: command, args, at: now() });
    return new Promise((resolve) => waiting.set(id, resolve));
  };
  return {
    send,
    go: (route) => send('go', { route }),
    seen: (visible, online) => worker.postMessage({ kind: 'seen', visible, online }),
    passkeys: () => worker.postMessage({ kind: 'passkeys' }),
    take: () => worker.postMessage({ kind: 'take' }),
  };
}
