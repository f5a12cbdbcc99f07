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
