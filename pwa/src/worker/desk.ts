/**
 * The desk takes commands one at a time, has the core work each out, stores what it wants stored
 * and only then answers. It outlives the core: when an instance dies, a new one is started from
 * what is stored.
 */
import type { Answer, Args, Trouble } from '../answer';
import type { Reading } from '../views';
import type { Core } from './core';
import { CorePanic } from './core';
import { trouble } from './notices';
import { Moved, type Vault } from './vault';
import { changesOf, type Change, type CoreStore, type Write } from './writes';

/** An answer with what only the worker uses. */
export interface FullAnswer extends Answer {
  /** There is something to send: do not wait for the next round. */
  readonly sync?: boolean;
  /** Bytes for the server. */
  readonly bytes?: Uint8Array;
  readonly ask?: Ask;
  readonly later?: Later;
}

/** A command to be run after so many milliseconds. */
export interface Later {
  readonly do: string;
  readonly ms: number;
}

/** A question to the server; what it answers comes back as the command `then`: {status, body}. */
export interface Ask {
  readonly path: string;
  readonly body: unknown;
  readonly then: string;
  readonly auth?: boolean;
}

interface CoreAnswer extends Answer {
  readonly writes?: readonly Write[];
  readonly sync?: boolean;
  readonly request?: number;
  readonly ask?: Ask;
  readonly later?: Later;
  readonly underWay?: boolean;
  /** How many entries only this phone has. */
  readonly unsent?: number;
}

export interface Parts {
  readonly vault: Vault;
  readonly start: () => Promise<Core>;
  readonly random: () => string;
  readonly now: () => Reading;
  /** Minutes east of UTC. */
  readonly zoneMin: () => number;
  /** Facts of this phone that the core may word: what the browser promises about storage. */
  readonly phone: () => Promise<Args>;
}

export class Desk {
  private core: Core | undefined;
  private last: Promise<unknown> = Promise.resolve();
  private route: string | undefined;
  private isShut = false;
  private underWay = false;

  constructor(private readonly parts: Parts) {}

  /** Whether a hold is being timed, or a test or session is under way. */
  get isUnderWay(): boolean {
    return this.underWay;
  }

  /** Starts the core on what is stored. Throws a CorePanic when it cannot. */
  open(): Promise<FullAnswer> {
    return this.turn(() => this.load());
  }

  /** Runs a command when all before it are done. Never throws: what went wrong is in the answer. */
  run(
    command: string,
    args: Args,
    at: Reading,
    blobs: readonly Uint8Array[] = [],
  ): Promise<FullAnswer> {
    return this.turn(async () => {
      if (this.isShut) return {};
      try {
        return await this.settle({ do: command, args, at }, blobs);
      } catch (cause: unknown) {
        if (cause instanceof Moved) return { error: trouble('moved') };
        // Whatever else went wrong, the core may now believe what storage does not hold.
        console.error(cause);
        return this.recover();
      }
    });
  }

  /** Tries once more to store what waits. */
  retry(): Promise<void> {
    return this.turn(async () => {
      await this.store([]);
    });
  }

  /** Forgets the core and the key of the rows when all before is done; what comes later is not. */
  close(): Promise<void> {
    return this.turn(async () => {
      this.isShut = true;
      this.core = undefined;
      this.parts.vault.close();
    });
  }

  /** Does something with the storage while no command runs. */
  turn<T>(run: () => Promise<T>): Promise<T> {
    const mine = this.last.then(run);
    this.last = mine.catch(() => undefined); // the caller hears of it
    return mine;
  }

  private async settle(
    message: { do: string; args: Args; at: Reading },
    blobs: readonly Uint8Array[],
  ): Promise<FullAnswer> {
    if (this.core === undefined) await this.load();
    if (this.core === undefined) throw new CorePanic('no core');
    const frame = this.core.call({
      ...message,
      tzMin: this.parts.zoneMin(),
      random: this.parts.random(),
    }, blobs);
    const { writes = [], request, unsent = 0, underWay = false, ...answer } = frame.json as CoreAnswer;
    this.underWay = underWay;
    this.parts.vault.note(unsent, underWay, answer.view?.prefs);
    const failed = await this.store(changesOf(writes, frame.blobs));
    if (answer.view) this.route = answer.view.route;
    const bytes = request === undefined ? undefined : frame.blobs[request];
    return {
      ...answer,
      ...(bytes && { bytes }),
      ...(failed && { error: failed }),
    };
  }

  // What could not be stored waits in the vault: the person goes on, and is told.
  private async store(changes: readonly Change[]): Promise<Trouble | undefined> {
    try {
      await this.parts.vault.save(changes);
      return undefined;
    } catch (cause: unknown) {
      if (cause instanceof Moved) throw cause;
      console.error(cause);
      const full = cause instanceof DOMException && cause.name === 'QuotaExceededError';
      return trouble(full ? 'full' : 'storage');
    }
  }

  private async load(): Promise<FullAnswer> {
    this.core = await this.parts.start();
    const rows = await this.parts.vault.rows();
    const blobs = [...rows.snap.values(), ...rows.log.values()] as Uint8Array[];
    const keys = (store: CoreStore) => [...rows[store].keys()].map((key) => ({ store, key }));
    const values = (store: CoreStore) =>
      [...rows[store]].map(([key, json]) => ({ store, key, json }));
    return this.settle({
      do: 'open',
      args: {
        rows: [...values('meta'), ...values('run')],
        blobs: [...keys('snap'), ...keys('log')],
        phone: await this.parts.phone(),
      },
      at: this.parts.now(),
    }, blobs);
  }

  private async recover(): Promise<FullAnswer> {
    const route = this.route;
    try {
      const opened = await this.load();
      if (route === undefined) return restarted(opened);
      try {
        const message = { do: 'go', args: { route }, at: this.parts.now() };
        return restarted(await this.settle(message, []));
      } catch (cause: unknown) {
        console.error(cause); // the screen itself may be what breaks: show the first one instead
        return restarted(await this.load());
      }
    } catch (cause: unknown) {
      console.error(cause);
      this.core = undefined;
      return { error: trouble('stopped') };
    }
  }
}

/** Says that the core started anew; that something is not stored yet is said before that. */
function restarted(answer: FullAnswer): FullAnswer {
  return { ...answer, error: answer.error ?? trouble('restarted') };
}
