import assert from 'node:assert/strict';
import { afterEach, test } from 'node:test';
import { DeviceKey } from './devicekey';
import { Refused, Server } from './server';

const keyless = { proof: async () => ({}) };
const original = globalThis.fetch;
afterEach(() => {
  globalThis.fetch = original;
});

/** Answers each request by `answer` and keeps what was asked: path and token. */
function serve(answer: (path: string, token: string | null) => Response): string[] {
  const asked: string[] = [];
  globalThis.fetch = (async (path: string, init: RequestInit) => {
    const token = new Headers(init.headers).get('Authorization');
    asked.push(token === null ? path : `${path} ${token}`);
    return answer(path, token);
  }) as typeof fetch;
  return asked;
}

const json = (body: unknown, status = 200): Response => Response.json(body, { status });
const problem = (status: number, code: string): Response => new Response(
  JSON.stringify({ code, title: 'No', detail: 'why' }),
  { status, headers: { 'Content-Type': 'application/problem+json', 'Retry-After': '7' } },
);

test('a token is fetched once and used again', async () => {
  const asked = serve((path) => json(path === '/api/token' ? { access: 'A' } : {}));
  const server = new Server(keyless);
  assert.equal(server.isKnown, false);
  await server.post('/api/sync', 'x', 'text/plain');
  await server.post('/api/sync', 'x', 'text/plain');
  assert.deepEqual(asked, ['/api/token', '/api/sync Bearer A', '/api/sync Bearer A']);
  assert.equal(server.isKnown, true);
});

test('a token that has run out is renewed once', async () => {
  let access = 'old';
  const asked = serve((path, token) => {
    if (path === '/api/token') return json({ access });
    return token === 'Bearer new' ? json({ ok: 1 }) : problem(401, 'token');
  });
  const server = new Server(keyless);
  await assert.rejects(server.post('/api/sync', 'x', 'text/plain'), Refused);
  assert.equal(asked.length, 2, 'a fresh token that is refused is not fetched again');
  access = 'new';
  const response = await server.post('/api/sync', 'x', 'text/plain');
  assert.deepEqual(await response.json(), { ok: 1 });
  assert.equal(asked.length, 5);
});

test('questions before joining carry no token', async () => {
  const asked = serve(() => json({ role: 'client' }));
  const reply = await new Server(keyless).ask('/api/join/look', { code: 'X' }, false);
  assert.deepEqual(reply, { status: 200, body: { role: 'client' }, afterMS: 0 });
  assert.deepEqual(asked, ['/api/join/look']);
});

// The media type and members are those of RFC 9457 (July 2023), section 3.
test('a refusal is an answer, with the code the server gave', async () => {
  serve(() => problem(410, 'used'));
  const reply = await new Server(keyless).ask('/api/join', {}, false);
  assert.equal(reply.status, 410);
  assert.equal(reply.afterMS, 7000, 'how long to wait is passed on');
  assert.deepEqual(reply.body, { code: 'used', title: 'No', detail: 'why' });
});

test('an answer that is no problem document keeps its status', async () => {
  serve(() => new Response('<h1>Bad gateway</h1>', { status: 502 }));
  const reply = await new Server(keyless).ask('/api/join', {}, false);
  assert.deepEqual(reply, { status: 502, body: { code: 'http-502', title: '', detail: '' }, afterMS: 0 });
});

test('no network is status 0', async () => {
  globalThis.fetch = (async () => {
    throw new TypeError('fetch failed');
  }) as typeof fetch;
  assert.deepEqual(await new Server(keyless).ask('/api/join', {}, false), { status: 0, body: null });
});

// The key signs what "Web Cryptography API" (W3C) calls ECDSA with SHA-256; checked here with the
// runtime's own verification.
test('a challenge is signed by a key that cannot be read out', async () => {
  const curve = { name: 'ECDSA', namedCurve: 'P-256' };
  const pair = await crypto.subtle.generateKey(curve, false, ['sign', 'verify']);
  const bodies: { key?: string; signature?: string }[] = [];
  globalThis.fetch = (async (path: string, init: RequestInit) => {
    if (path !== '/api/token') return json({});
    bodies.push(JSON.parse(init.body as string));
    return bodies.length === 1
      ? new Response(JSON.stringify({ code: 'proof', challenge: 'C1' }), {
          status: 401, headers: { 'Content-Type': 'application/problem+json' },
        })
      : json({ access: 'A', challenge: 'C2' });
  }) as typeof fetch;
  const server = new Server(new DeviceKey(async () => pair));
  await Promise.all([
    server.post('/api/sync', 'x', 'text/plain'), server.post('/api/ticket', '{}', 'text/plain'),
  ]);
  assert.equal(bodies.length, 2, 'two requests at once ask for one token');
  assert.equal(bodies[0]!.signature, undefined);
  const bytes = (text: string) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const hashed = { name: 'ECDSA', hash: 'SHA-256' };
  const said = new TextEncoder().encode('evenhold refresh C1');
  assert.ok(await crypto.subtle.verify(hashed, pair.publicKey, bytes(bodies[1]!.signature!), said));
  assert.equal(bytes(bodies[1]!.key!).length, 65);
  await assert.rejects(crypto.subtle.exportKey('pkcs8', pair.privateKey));
});

test('a browser that keeps no keys goes without', async () => {
  const refuses = new DeviceKey(async () => {
    throw new Error('no keys here');
  });
  assert.deepEqual(await refuses.proof('C'), {});
});
