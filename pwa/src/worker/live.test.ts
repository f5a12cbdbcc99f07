import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Live } from './live';

/** A line in the hands of the test. */
class FakeSocket {
  static readonly opened: FakeSocket[] = [];
  readonly sent: string[] = [];
  onopen?: () => void;
  onmessage?: () => void;
  onclose?: () => void;

  constructor() {
    FakeSocket.opened.push(this);
  }

  send(text: string): void {
    this.sent.push(text);
  }

  close(): void {
    this.onclose?.();
  }
}

const settle = (): Promise<void> => new Promise((done) => setImmediate(done));

/** A listener whose server answers with the statuses given, then with 200. */
function start(...statuses: number[]) {
  (globalThis as { WebSocket: unknown }).WebSocket = FakeSocket;
  FakeSocket.opened.length = 0;
  const waits: { run: () => void; ms: number }[] = [];
  let news = 0;
  const live = new Live({
    server: {
      ask: async () => ({ status: statuses.shift() ?? 200, body: { ticket: 'a ticket' } }),
    },
    url: 'ws://practice/api/live',
    news: () => news++,
    wanted: () => true,
    random: () => 0.5,
    later: (run, ms) => waits.push({ run, ms }),
  });
  return { live, waits, opened: FakeSocket.opened, news: () => news };
}

test('the ticket is the first word, and what is heard is news', async () => {
  const { live, opened, news } = start();
  live.listen();
  live.listen();
  await settle();
  assert.equal(opened.length, 1);
  opened[0]!.onopen!();
  assert.deepEqual(opened[0]!.sent, ['a ticket']);
  opened[0]!.onmessage!();
  assert.equal(news(), 1);
});

test('waits double while nobody answers, and begin anew once a line has spoken', async () => {
  const { live, waits, opened } = start(503, 503, 503);
  live.listen();
  await settle();
  for (let i = 0; i < 3; i++) {
    waits[i]!.run();
    await settle();
  }
  assert.deepEqual(waits.map(({ ms }) => ms), [1_000, 2_000, 4_000]);
  opened[0]!.onmessage!();
  opened[0]!.onclose!();
  assert.equal(waits[3]!.ms, 1_000);
});

test('a person who comes back does not wait, and the old wait opens no second line', async () => {
  const { live, waits, opened } = start(503);
  live.listen();
  await settle();
  live.listen();
  await settle();
  assert.equal(opened.length, 0, 'a wait is running');
  live.listen(true);
  await settle();
  assert.equal(opened.length, 1);
  waits[0]!.run();
  await settle();
  assert.equal(opened.length, 1);
});

test('a line that was stopped stays closed', async () => {
  const { live, waits, opened } = start();
  live.listen();
  await settle();
  live.stop();
  waits[0]!.run();
  await settle();
  assert.equal(opened.length, 1);
});

/** SplitMix32, so that a run can be repeated. */
function chance(seed: number): () => number {
  return () => {
    seed = (seed + 0x9e3779b9) | 0;
    let z = Math.imul(seed ^ (seed >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return ((z ^ (z >>> 15)) >>> 0) / 2 ** 32;
  };
}

/**
 * When the server was asked, in milliseconds since it went away, by phones that all listened
 * until then; it is back at `backMS`.
 */
async function returns(phones: number, backMS: number, random: () => number): Promise<number[]> {
  (globalThis as { WebSocket: unknown }).WebSocket = FakeSocket;
  FakeSocket.opened.length = 0;
  const waits: { run: () => void; dueMS: number }[] = [];
  const askedMS: number[] = [];
  let nowMS = -1;
  for (let i = 0; i < phones; i++) {
    const ask = async () => {
      askedMS.push(nowMS);
      const isUp = nowMS < 0 || nowMS >= backMS;
      return { status: isUp ? 200 : 503, body: { ticket: 'a ticket' } };
    };
    const later = (run: () => void, ms: number) => waits.push({ run, dueMS: nowMS + ms });
    const news = () => undefined;
    new Live({ server: { ask }, url: '', news, wanted: () => true, random, later }).listen();
  }
  await settle();
  nowMS = 0;
  for (const socket of FakeSocket.opened.splice(0)) socket.onclose!();
  while (waits.length > 0) {
    waits.sort((a, b) => b.dueMS - a.dueMS);
    const next = waits.pop()!;
    nowMS = next.dueMS;
    next.run();
    await settle();
  }
  assert.equal(FakeSocket.opened.length, phones, 'all are back');
  return askedMS.filter((ms) => ms >= 0);
}

/** The most that fall into any one second. */
function peak(askedMS: number[]): number {
  const within = (from: number) => askedMS.filter((ms) => ms >= from && ms < from + 1_000).length;
  return Math.max(...askedMS.map(within));
}

// What is documented, for 200 phones. First waits are spread over two seconds, so 100 a second
// are expected, and some who drew little ask a second time. After minutes each asks once in 30
// seconds in the mean, so that 200/30 a second are expected (renewals in the long run); the rest is
// room for chance. The method is "Exponential Backoff and Jitter", AWS Architecture Blog, 2015.
const mostASecond = 160;
const mostASecondAfterMinutes = 24;

test('200 phones that lost the server in one moment come back spread out', async () => {
  for (const [seed, backMS] of [500, 5_000, 30_000].entries()) {
    const most = peak(await returns(200, backMS, chance(seed)));
    assert.ok(most <= mostASecond, `${most} within a second, back after ${backMS} ms`);
  }
  const backMS = 600_000;
  const after = (await returns(200, backMS, chance(3))).filter((ms) => ms >= backMS);
  assert.ok(peak(after) <= mostASecondAfterMinutes, `${peak(after)} within a second`);
  assert.ok(Math.max(...after) <= backMS + 60_000, 'the last is back within a minute');
});

test('without chance they would come back all at once', async () => {
  assert.equal(peak(await returns(200, 500, () => 0.5)), 200);
});
