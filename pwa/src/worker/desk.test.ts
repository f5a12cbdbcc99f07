import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Core } from './core';
import { CorePanic } from './core';
import { Desk } from './desk';
import type { Frame } from './frames';
import { Moved, type Vault } from './vault';
import { applyTo, type Change, type Rows } from './writes';

const at = { wallMS: 1, monoMS: 1, run: 'r' };

/** Storage in memory that can be told to refuse. */
class Drawer {
  note(): void {}

  rowsNow: Rows = { meta: new Map(), snap: new Map(), log: new Map(), run: new Map() };
  waiting: Change[] = [];
  refuse: Error | undefined;
  get unsaved(): number {
    return this.waiting.length;
  }
  async rows(): Promise<Rows> {
    const copy = structuredClone(this.rowsNow);
    applyTo(copy, this.waiting);
    return copy;
  }
  async save(changes: readonly Change[]): Promise<void> {
    this.waiting.push(...changes);
    await Promise.resolve();
    if (this.refuse) throw this.refuse;
    applyTo(this.rowsNow, this.waiting.splice(0));
  }
}

type Message = { do: string; args: { rows?: { json: number }[]; by?: number } };

/** A core that counts: "add" stores the new count, "die" kills the instance. */
function counter(): Core {
  let n = 0;
  let dead = false;
  const view = () => ({ screen: 'notice', route: '/n', finding: { k: String(n) } });
  const call = (message: unknown): Frame => {
    const { do: name, args } = message as Message;
    if (dead || name === 'die') {
      dead = true;
      throw new CorePanic('told to');
    }
    if (name === 'open') n = args.rows?.[0]?.json ?? 0;
    if (name === 'add') n += args.by ?? 1;
    const writes: unknown[] = name === 'add' ? [{ store: 'meta', key: 'n', json: n }] : [];
    if (name === 'bad') writes.push({ store: 'log' });
    return { json: { view: view(), writes }, blobs: [] };
  };
  return { call } as unknown as Core;
}

function desk(): { drawer: Drawer; desk: Desk; started: () => number } {
  const drawer = new Drawer();
  let started = 0;
  return {
    drawer,
    started: () => started,
    desk: new Desk({
      vault: drawer as unknown as Vault,
      start: async () => {
        started++;
        return counter();
      },
      random: () => '0'.repeat(32),
      now: () => at,
      zoneMin: () => 0,
      phone: async () => ({}),
    }),
  };
}

function count(answer: { view?: { finding?: unknown } }): string {
  return (answer.view?.finding as { k: string }).k;
}

test('an answer comes only when what it wrote is stored', async () => {
  const { desk: d, drawer } = desk();
  await d.open();
  const answer = await d.run('add', {}, at);
  assert.equal(drawer.rowsNow.meta.get('n'), 1);
  assert.equal(count(answer), '1');
  assert.equal(answer.error, undefined);
});

test('commands are done in the order they came', async () => {
  const { desk: d } = desk();
  const opened = d.open();
  const answers = await Promise.all([1, 10, 100].map((by) => d.run('add', { by }, at)));
  await opened;
  assert.deepEqual(answers.map(count), ['1', '11', '111']);
});

test('what storage refuses is kept, told and stored later', async () => {
  const { desk: d, drawer } = desk();
  await d.open();
  drawer.refuse = new DOMException('full', 'QuotaExceededError');
  const first = await d.run('add', {}, at);
  assert.equal(first.error?.code, 'full');
  assert.equal(count(first), '1', 'the person goes on');
  assert.equal(drawer.rowsNow.meta.get('n'), undefined);
  drawer.refuse = new DOMException('gone', 'InvalidStateError');
  assert.equal((await d.run('add', {}, at)).error?.code, 'storage');
  drawer.refuse = undefined;
  await d.retry();
  assert.equal(drawer.rowsNow.meta.get('n'), 2);
});

test('a core that dies is started anew from what is stored', async () => {
  const { desk: d, started } = desk();
  await d.open();
  await d.run('add', { by: 5 }, at);
  const answer = await d.run('die', {}, at);
  assert.equal(answer.error?.code, 'restarted');
  assert.equal(count(answer), '5');
  assert.equal(started(), 2);
  assert.equal(count(await d.run('add', {}, at)), '6');
});

test('a core that dies while storage refuses still knows what waits', async () => {
  const { desk: d, drawer } = desk();
  await d.open();
  drawer.refuse = new DOMException('full', 'QuotaExceededError');
  await d.run('add', { by: 3 }, at);
  const died = await d.run('die', {}, at);
  assert.equal(count(died), '3');
  assert.equal(died.error?.code, 'full', 'what is not saved yet is said first');
  drawer.refuse = undefined;
  assert.equal(count(await d.run('add', {}, at)), '4');
  assert.equal(drawer.rowsNow.meta.get('n'), 4);
});

test('a core whose writes make no sense is not trusted further', async () => {
  const { desk: d, started } = desk();
  await d.open();
  assert.equal((await d.run('bad', {}, at)).error?.code, 'restarted');
  assert.equal(started(), 2);
});

test('after another tab took over nothing is said to be saved', async () => {
  const { desk: d, drawer } = desk();
  await d.open();
  drawer.refuse = new Moved('other');
  const answer = await d.run('add', {}, at);
  assert.equal(answer.error?.code, 'moved');
  assert.equal(answer.view, undefined);
});
