import assert from 'node:assert/strict';
import { beforeEach, test } from 'node:test';
import 'fake-indexeddb/auto';
import { IDBFactory } from 'fake-indexeddb';
import { lastView } from '../adapters/lastview';
import { openStorage } from '../schema';
import { isLock, seal, type Lock } from '../sealing';
import type { FormView, NoticeView, View } from '../views';
import { Door } from './door';
import { Vault } from './vault';
import type { Change } from './writes';

const pin = '481516';
const me: Change = { store: 'meta', key: 'me', value: { name: 'Ines K.' } };
const picture: Change = { store: 'view', key: 'last', value: { screen: 'notice', route: '/' } };

let nowMS = 1_000_000;
/** What the desk does just now. */
let turn: Promise<unknown> = Promise.resolve();

beforeEach(() => {
  turn = Promise.resolve();
  globalThis.indexedDB = new IDBFactory();
  nowMS = 1_000_000;
});

/** One run of the page: a vault behind its door, and what the door showed and asked for. */
async function run() {
  const vault = new Vault(String(Math.random()));
  const shown: View[] = [];
  const did: string[] = [];
  let told = (): void => undefined;
  const asked = new Promise<void>((done) => (told = done));
  const door = new Door({
    vault,
    wallMS: () => nowMS,
    show: (view) => {
      shown.push(view);
      told();
    },
    alone: (work) => turn.then(work),
    reopen: async () => void did.push('reopen'),
    shut: () => did.push('shut'),
    hasPasskeys: () => true,
    signOff: async () => did.push('sign off'),
  });
  await vault.take();
  const opened = door.opened();
  await Promise.race([opened, asked]);
  const say = async (name: string, values = {}) => door.run(name, { values });
  const soon = (): Promise<false> => new Promise((done) => setTimeout(done, 20, false));
  const isShut = async () => !(await Promise.race([opened.then(() => true), soon()]));
  return { vault, door, shown, did, say, opened, isShut };
}

/** A phone with a PIN and one row; `unsent` entries have not been sent. */
async function lockedPhone(unsent = 0): Promise<void> {
  const { vault, say } = await run();
  vault.note(unsent, false, { lang: 'ar', scheme: 'dark' });
  await vault.save([me]);
  await say('lock.set', { pin, again: pin, minutes: '15' });
  await vault.save([picture]);
}

async function kept(): Promise<Lock> {
  const db = await openStorage(() => undefined);
  const row = await db.get('seal', 'now');
  db.close();
  assert.ok(isLock(row));
  return row;
}

async function plant(changed: Partial<Lock>): Promise<void> {
  const row = { ...(await kept()), ...changed };
  const db = await openStorage(() => undefined);
  await db.put('seal', row, 'now');
  db.close();
}

const keys = (view: View | undefined): string[] => [
  (view as NoticeView).finding.k, ...((view as NoticeView).lines ?? []).map((line) => line.k),
];

test('a phone without a PIN is open, one with a PIN after it was told', async () => {
  await (await run()).opened;
  await lockedPhone();
  const phone = await run();
  assert.equal(await phone.isShut(), true);
  assert.deepEqual(keys(phone.shown[0]), ['lock.shut']);
  assert.deepEqual(phone.shown[0]?.prefs, { lang: 'ar', scheme: 'dark' });
  await phone.say('lock.open', { pin });
  await phone.opened;
  assert.deepEqual((await phone.vault.rows()).meta.get('me'), me.value);
});

test('a locked phone shows no stored picture, gives no row and takes none', async () => {
  await lockedPhone();
  assert.equal(await lastView('/'), undefined);
  const { vault } = await run();
  await assert.rejects(vault.rows(), /locked/);
  await assert.rejects(vault.save([me]), /locked/);
});

test('wrong tries are counted over reloads; the tenth empties a phone that has sent all', async () => {
  await lockedPhone();
  await plant({ tries: 8, lastMS: 0 });
  const first = await run();
  assert.deepEqual(keys(first.shown[0]), ['lock.shut', 'lock.more']);
  const { view } = await first.say('lock.open', { pin: '000000' });
  assert.equal((view as NoticeView).field?.error?.k, 'lock.wrong');
  assert.equal((await kept()).tries, 9);
  const second = await run();
  nowMS += 8 * 60_000;
  const last = await second.say('lock.open', { pin: '000000' });
  assert.deepEqual(keys(last.view), ['lock.emptied', 'lock.emptied_lead']);
  assert.deepEqual(second.did, ['sign off']);
  assert.equal(await second.isShut(), true, 'it is said before anything else');
  await second.say('lock.on');
  await second.opened;
  assert.equal((await second.vault.rows()).meta.size, 0);
  await (await run()).opened; // the PIN is gone, too
});

test('work that was not sent is kept however many tries; each waits longer', async () => {
  await lockedPhone(3);
  await plant({ tries: 9, lastMS: 0 });
  const phone = await run();
  const { view } = await phone.say('lock.open', { pin: '000000' });
  assert.deepEqual(keys(view), ['lock.shut', 'lock.unsent', 'lock.kept', 'lock.wait']);
  nowMS += 16 * 60_000 - 1; // 30 s, doubled five times
  const early = await (await run()).say('lock.open', { pin });
  assert.equal((early.view as NoticeView).field?.error?.k, 'lock.early');
  assert.equal((await kept()).tries, 10, 'a try that was not heard does not count');
  nowMS += 1;
  const again = await run();
  await again.say('lock.open', { pin });
  await again.opened;
  assert.deepEqual((await again.vault.rows()).meta.get('me'), me.value);
  assert.equal((await kept()).tries, 0);
});

test('a clock that was years ahead makes nobody wait for years', async () => {
  await lockedPhone(1);
  await plant({ tries: 5, lastMS: nowMS + 1e12 });
  const phone = await run();
  nowMS += 30_000;
  await phone.say('lock.open', { pin });
  await phone.opened;
});

test('a page that is killed while it works out a try has used it up', async () => {
  await lockedPhone();
  const { say } = await run();
  const { unwrapKey } = crypto.subtle;
  crypto.subtle.unwrapKey = () => new Promise(() => undefined);
  try {
    void say('lock.open', { pin });
    while ((await kept()).tries === 0) await new Promise((done) => setTimeout(done, 5));
  } finally {
    crypto.subtle.unwrapKey = unwrapKey;
  }
  assert.equal((await kept()).tries, 1);
});

test('a forgotten PIN empties the phone only after what is lost was said', async () => {
  await lockedPhone(2);
  const phone = await run();
  const { view } = await phone.say('lock.forgot');
  assert.deepEqual(keys(view),
    ['lock.forgot_finding', 'lock.forgot_lead', 'lock.forgot_unsent']);
  assert.equal(await phone.isShut(), true);
  await phone.say('lock.back');
  assert.equal((await kept()).tries, 0);
  await phone.say('lock.wipe');
  await phone.opened;
  assert.equal((await phone.vault.rows()).meta.size, 0);
});

test('a phone locks once what is being stored is stored', async () => {
  const { vault, did, say } = await run();
  await say('lock.set', { pin, again: pin, minutes: '15' });
  turn = vault.save([me]);
  assert.equal(vault.unsaved, 1);
  assert.deepEqual(await say('lock.now'), {});
  assert.equal(did.at(-1), 'shut');
});

test('the PIN is changed and removed by who knows it, and no row is lost', async () => {
  await lockedPhone();
  const phone = await run();
  await phone.say('lock.open', { pin });
  const refused = await phone.say('lock.set', { old: '999999', pin: '271828', again: '271828' });
  assert.equal((refused.view as FormView).fields[0]?.error?.k, 'lock.wrong');
  const changed = await phone.say('lock.set', { old: pin, pin: '271828', again: '271828' });
  assert.equal(changed.view?.said?.text.k, 'lock.is_set');
  const again = await run();
  await again.say('lock.open', { pin });
  assert.equal(await again.isShut(), true, 'the old PIN opens nothing');
  await again.say('lock.open', { pin: '271828' });
  assert.deepEqual((await again.vault.rows()).meta.get('me'), me.value);
  await again.say('lock.remove', { old: '271828' });
  const open = await run();
  await open.opened;
  assert.deepEqual((await open.vault.rows()).meta.get('me'), me.value);
});

const bytes = (...some: number[]): ArrayBuffer => new Uint8Array(some).buffer;
const passkey = { id: bytes(1, 2), secret: bytes(...Array.from({ length: 32 }, (_, i) => i)) };
const other = { id: bytes(1, 2), secret: bytes(...Array.from({ length: 32 }, (_, i) => i + 1)) };

const offers = (view: View | undefined): (string | undefined)[] =>
  (view as NoticeView).actions.map((action) => action.do);

/** A phone that a PIN and a passkey open. */
async function phoneWithPasskey(unsent = 0): Promise<void> {
  const { vault, door, say } = await run();
  vault.note(unsent, false, undefined);
  await vault.save([me]);
  const set = await say('lock.set', { pin, again: pin, minutes: '15' });
  assert.ok(offers(set.view).includes('lock.key'));
  const { view } = await door.run('lock.key', { said: passkey });
  assert.ok(keys(view).includes('lock.key_too'));
  assert.ok(!offers(view).includes('lock.key'), 'one passkey is enough');
}

test('a passkey opens the phone beside the PIN, never in its place', async () => {
  await phoneWithPasskey();
  const one = await run();
  const asks = (one.shown[0] as NoticeView).actions.find((action) => action.do === 'lock.key');
  assert.deepEqual(asks?.args, { id: passkey.id });
  await one.door.run('lock.key', { said: passkey });
  await one.opened;
  assert.deepEqual((await one.vault.rows()).meta.get('me'), me.value);
  const two = await run();
  await two.say('lock.open', { pin });
  await two.opened;
  assert.deepEqual((await two.vault.rows()).meta.get('me'), me.value);
});

test('a passkey that is wrong, gone or unwanted opens nothing, and is no wrong try', async () => {
  await phoneWithPasskey(2);
  await plant({ tries: 9, lastMS: nowMS });
  const phone = await run();
  for (const said of [other, undefined]) {
    const { view } = await phone.door.run('lock.key', { said });
    assert.equal((view as NoticeView).field?.error?.k, 'lock.key_failed');
    assert.equal(await phone.isShut(), true);
    await assert.rejects(phone.vault.rows(), /locked/);
  }
  assert.equal((await kept()).tries, 9);
  await phone.door.run('lock.key', { said: passkey });
  await phone.opened;
  assert.equal((await kept()).tries, 0, 'who has the passkey is who had forgotten the PIN');
  assert.equal((await kept()).unsent, 2);
});

test('a phone whose passkey is deleted opens by the PIN; a PIN set anew takes it off', async () => {
  await phoneWithPasskey();
  const phone = await run();
  await phone.say('lock.open', { pin });
  const before = await kept();
  await phone.say('lock.set', { old: pin, pin, again: pin, minutes: '15' });
  assert.equal((await kept()).passkey, undefined);
  // Files that were copied before hold a passkey of an old key: it opens nothing that was stored since.
  await plant({ passkey: before.passkey! });
  const later = await run();
  const { view } = await later.door.run('lock.key', { said: passkey });
  assert.equal((view as NoticeView).field?.error?.k, 'lock.key_failed');
});

test('a passkey is added only where the PIN was just set', async () => {
  await lockedPhone();
  const phone = await run();
  await phone.say('lock.open', { pin });
  assert.ok(!offers((await phone.say('lock.form')).view).includes('lock.key'));
  const { view } = await phone.door.run('lock.key', { said: passkey });
  assert.equal(view?.said?.text.k, 'lock.key_failed');
  assert.equal((await kept()).passkey, undefined);
});

const refusals: readonly (readonly [string, string, string])[] = [
  ['48151', '48151', 'lock.short'],
  ['111111', '111111', 'lock.plain'],
  [pin, '481517', 'lock.differ'],
];

test('a PIN that is no good is refused and nothing changes', async () => {
  const { say, vault } = await run();
  for (const [one, two, why] of refusals) {
    const { view } = await say('lock.set', { pin: one, again: two });
    const errors = (view as FormView).fields.map((field) => field.error?.k).filter(Boolean);
    assert.deepEqual(errors, [why]);
  }
  assert.equal(vault.lock, undefined);
});

test('a phone that is emptied for somebody else loses the PIN', async () => {
  await lockedPhone();
  const { say, vault } = await run();
  await say('lock.open', { pin });
  await vault.save([{ store: 'meta', from: '', last: '\uffff' }]);
  await (await run()).opened;
});

test('a phone that dies while it is locked for the first time holds all its rows', async () => {
  const { put } = IDBObjectStore.prototype;
  for (const last of [1, 2]) { // the row, then the lock
    globalThis.indexedDB = new IDBFactory();
    const { vault } = await run();
    await vault.save([me]);
    let puts = 0;
    IDBObjectStore.prototype.put = function (this: IDBObjectStore, ...args) {
      if (++puts === last) {
        this.transaction.abort();
        throw new Error('killed');
      }
      return put.apply(this, args);
    };
    try {
      await assert.rejects(vault.setLock(pin, 5));
    } finally {
      IDBObjectStore.prototype.put = put;
    }
    assert.deepEqual((await (await run()).vault.rows()).meta.get('me'), me.value);
  }
});

test('a version that knows no locks takes the lock for a key, and can do no harm', async () => {
  await lockedPhone();
  const taken = (await kept()) as unknown as CryptoKey;
  await assert.rejects(seal(taken, 'meta/me', {}));
});
