/**
 * Sends what the phone has and fetches what it lacks, whenever there is a reason to and a network.
 * One round at a time. A network that is not there is no error: it is told to the core as a state
 * and tried again later.
 */
import type { Args } from '../answer';
import { backoffMS, retryAfterMS } from './backoff';
import type { FullAnswer } from './desk';
import { Refused, type Server } from './server';

const media = 'application/vnd.evenhold.sync';

export interface SyncParts {
  readonly server: Pick<Server, 'post'>;
  /** Runs a command of the core; shows its view, if it has one. */
  readonly run: (command: string, args: Args, blobs?: readonly Uint8Array[]) => Promise<FullAnswer>;
  readonly online: () => boolean;
  /** The server has answered: a good moment to listen for news. */
  readonly reached: () => void;
  /** 0 ≤ random < 1. */
  readonly random: () => number;
  readonly wallMS: () => number;
  readonly later: (run: () => void, ms: number) => void;
}

type State =
  | { readonly state: 'sending' | 'offline' }
  | { readonly state: 'idle'; readonly code?: string };

export class Sync {
  private running = false;
  private again = false;
  private stopped = false;
  private failures = 0;
  private notBeforeMS = 0;
  private told = '';

  constructor(private readonly parts: SyncParts) {}

  /** There may be something to send or to fetch. `now` ignores a pending wait: a person asked. */
  kick(now = false): void {
    if (now) this.notBeforeMS = 0;
    if (this.running) {
      this.again = true;
      return;
    }
    if (this.stopped || this.parts.wallMS() < this.notBeforeMS) return;
    this.running = true;
    void this.rounds().finally(() => {
      this.running = false;
      if (this.again) {
        this.again = false;
        this.kick();
      }
    });
  }

  /** Ends it for good: another tab has taken over. */
  stop(): void {
    this.stopped = true;
  }

  private async rounds(): Promise<void> {
    while (!this.stopped) {
      this.again = false;
      if (!this.parts.online()) return this.tell({ state: 'offline' });
      const { bytes } = await this.parts.run('sync.request', {});
      if (bytes === undefined) return this.tell({ state: 'idle' });
      await this.tell({ state: 'sending' });
      const more = await this.exchange(bytes);
      if (more === undefined) return;
      if (!more && !this.again) return this.tell({ state: 'idle' });
    }
  }

  /** One request and its answer; whether there is more, or undefined when it did not work. */
  private async exchange(bytes: Uint8Array): Promise<boolean | undefined> {
    let body: Uint8Array;
    let told: Args;
    try {
      const sent = bytes as Uint8Array<ArrayBuffer>;
      const response = await this.parts.server.post('/api/sync', sent, media);
      told = {
        role: response.headers.get('Evenhold-Role') ?? '',
        days: Number(response.headers.get('Evenhold-Empty-After-Days')),
        knocks: Number(response.headers.get('Evenhold-Knocks')),
      };
      body = new Uint8Array(await response.arrayBuffer());
    } catch (cause: unknown) {
      await this.failed(cause);
      return undefined;
    }
    this.failures = 0;
    this.parts.reached();
    const answer = await this.parts.run('sync.response', told, [body]);
    if (answer.error) {
      this.wait(0);
      await this.tell({ state: 'idle', code: answer.error.code });
      return undefined;
    }
    return answer.sync === true;
  }

  private async failed(cause: unknown): Promise<void> {
    if (cause instanceof Refused) {
      this.wait(retryAfterMS(cause.retryAfter, this.parts.wallMS()));
      return this.tell({ state: 'idle', code: cause.problem.code });
    }
    this.wait(0);
    return this.tell({ state: 'offline' });
  }

  private wait(atLeastMS: number): void {
    this.failures++;
    const ms = atLeastMS + backoffMS(this.failures, this.parts.random());
    this.notBeforeMS = this.parts.wallMS() + ms;
    this.parts.later(() => this.kick(), ms);
  }

  private async tell(state: State): Promise<void> {
    const text = JSON.stringify(state);
    if (text === this.told) return;
    this.told = text;
    await this.parts.run('sync.state', { ...state });
  }
}
