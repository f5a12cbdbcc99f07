/**
 * Listens for "there is news". Nothing depends on it but freshness: what is new comes by the
 * ordinary exchange, and a listener that lost its line just asks later.
 */
import { backoffMS } from './backoff';
import type { Server } from './server';

export interface LiveParts {
  readonly server: Pick<Server, 'ask'>;
  readonly url: string;
  readonly news: () => void;
  /** Whether a person is looking, a network is there and the phone has joined. */
  readonly wanted: () => boolean;
  readonly random: () => number;
  readonly later: (run: () => void, ms: number) => void;
}

export class Live {
  private socket: WebSocket | undefined;
  private joining = false;
  /** Which wait is running; a person who comes back ends it early. */
  private waiting: symbol | undefined;
  private stopped = false;
  private failures = 0;

  constructor(private readonly parts: LiveParts) {}

  /** Opens the line if it is wanted and not open. `now` ends a wait: a person or a network came. */
  listen(now = false): void {
    if (now) this.waiting = undefined;
    if (this.stopped || this.joining || this.waiting || this.socket || !this.parts.wanted()) return;
    this.joining = true;
    void this.join().finally(() => {
      this.joining = false;
    });
  }

  stop(): void {
    this.stopped = true;
    this.socket?.close();
  }

  private async join(): Promise<void> {
    const reply = await this.parts.server.ask('/api/ticket', {}, true);
    if (reply.status !== 200) return this.wait();
    const { ticket } = reply.body as { ticket: string };
    const socket = new WebSocket(this.parts.url);
    this.socket = socket;
    // The ticket is the first message: an address would end up in logs.
    socket.onopen = () => socket.send(ticket);
    // The first message comes at once, for what was new while the line was down.
    socket.onmessage = () => {
      this.failures = 0;
      this.parts.news();
    };
    socket.onclose = () => {
      this.socket = undefined;
      this.wait();
    };
    if (this.stopped) socket.close();
  }

  private wait(): void {
    this.failures++;
    const wait = Symbol('wait');
    this.waiting = wait;
    this.parts.later(() => {
      if (this.waiting !== wait) return;
      this.waiting = undefined;
      this.listen();
    }, backoffMS(this.failures, this.parts.random()));
  }
}
