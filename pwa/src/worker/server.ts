/** The server as the worker sees it: questions in JSON, and the access token, in memory only. */

import { retryAfterMS } from './backoff';
import { DeviceKey } from './devicekey';

/** RFC 9457 (July 2023), with a code of the closed list in `code`. */
export interface Problem {
  readonly code: string;
  readonly title: string;
  readonly detail: string;
  /** What this phone's key is to sign, with the code "proof". */
  readonly challenge?: string;
}

/** The server's answer as the core wants it; status 0 says that the server was not reached. */
export interface Reply {
  readonly status: number;
  /** The answer's JSON, or its problem; null for an empty one. */
  readonly body: unknown;
  /** How long the server wants to be left alone, where it says so. */
  readonly afterMS?: number;
}

/** Any answer but a good one. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problem: Problem,
    /** The Retry-After header as it came. */
    readonly retryAfter: string | null,
  ) {
    super(`${status} ${problem.code}`);
  }
}

export class Server {
  private token: string | undefined;
  private challenge: string | undefined;
  private renewing: Promise<string> | undefined;

  constructor(private readonly key: Pick<DeviceKey, 'proof'> = new DeviceKey()) {}

  /** Whether this phone has joined, as far as the server has said since the start. */
  get isKnown(): boolean {
    return this.token !== undefined;
  }

  /** Asks in JSON, with the access token if `auth`. Never throws. */
  async ask(path: string, body: unknown, auth: boolean): Promise<Reply> {
    try {
      const key = /(join|device)$/.test(path) ? await this.key.proof() : {};
      const text = JSON.stringify({ ...(body ?? {}), ...key });
      const response = auth
        ? await this.post(path, text, 'application/json')
        : await this.send(path, text, 'application/json');
      const { status, headers } = response;
      if (!auth) this.token = undefined; // joining makes this phone somebody else's
      const answered = status === 204 ? null : await response.json();
      return reply(status, answered, headers.get('Retry-After'));
    } catch (cause: unknown) {
      if (cause instanceof Refused) return reply(cause.status, cause.problem, cause.retryAfter);
      return { status: 0, body: null };
    }
  }

  /**
   * Posts with the access token and answers a good response. Throws Refused, or the browser's error
   * where the server was not reached. A token that has run out is renewed once.
   */
  async post(path: string, body: BodyInit, type: string): Promise<Response> {
    const had = this.token;
    try {
      return await this.send(path, body, type, had ?? (await this.renew()));
    } catch (cause: unknown) {
      if (had === undefined || !(cause instanceof Refused) || cause.status !== 401) throw cause;
      return this.send(path, body, type, await this.renew());
    }
  }

  // Each use of the cookie gives the next one: two at once would only be told the same.
  private renew(): Promise<string> {
    this.token = undefined;
    this.renewing ??= this.refresh().finally(() => {
      this.renewing = undefined;
    });
    return this.renewing;
  }

  private async refresh(): Promise<string> {
    try {
      return await this.prove();
    } catch (cause: unknown) {
      if (!(cause instanceof Refused) || cause.problem.challenge === undefined) throw cause;
      this.challenge = cause.problem.challenge;
      return this.prove();
    }
  }

  private async prove(): Promise<string> {
    const body = JSON.stringify(await this.key.proof(this.challenge));
    this.challenge = undefined;
    const response = await this.send('/api/token', body, 'application/json');
    const { access, challenge } = (await response.json()) as Token;
    this.challenge = challenge;
    this.token = access;
    return access;
  }

  private async send(
    path: string,
    body: BodyInit,
    type: string,
    token?: string,
  ): Promise<Response> {
    const headers = new Headers({ 'Content-Type': type });
    if (token !== undefined) headers.set('Authorization', `Bearer ${token}`);
    const response = await fetch(path, {
      method: 'POST',
      body,
      headers,
      credentials: 'same-origin',
      cache: 'no-store',
      redirect: 'error',
      // A half-open connection must not hold up the queue for ever.
      signal: AbortSignal.timeout(30_000),
    });
    if (response.ok) return response;
    const retryAfter = response.headers.get('Retry-After');
    throw new Refused(response.status, await problemOf(response), retryAfter);
  }
}

interface Token {
  readonly access: string;
  readonly challenge?: string;
}

function reply(status: number, body: unknown, after: string | null): Reply {
  return { status, body, afterMS: retryAfterMS(after, Date.now()) };
}

async function problemOf(response: Response): Promise<Problem> {
  const unknown = { code: `http-${response.status}`, title: '', detail: '' };
  if (!response.headers.get('Content-Type')?.includes('application/problem+json')) return unknown;
  try {
    return { ...unknown, ...((await response.json()) as Partial<Problem>) };
  } catch {
    return unknown; // cut short: the status says enough
  }
}
