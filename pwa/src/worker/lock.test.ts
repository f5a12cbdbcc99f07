import assert from 'node:assert/strict';
import { hkdfSync, pbkdf2Sync } from 'node:crypto';
import { test } from 'node:test';
import { seal, unseal } from '../sealing';
import { addPasskey, makeLock, openByPasskey, openFromMS, openLock, weakness } from './lock';

const facts = { minutes: 5, unsent: 0, underWay: false };

test('only the PIN opens what it locks, however it is typed', async () => {
  const { lock, key } = await makeLock('Blue  Kettle ٤٢', facts);
  const row = await seal(key, 'log/1', 'x');
  for (const same of ['blue kettle 42', ' BLUE KETTLE ۴۲ ']) {
    const opened = await openLock(lock, same);
    assert.equal(await unseal(opened!, 'log/1', row), 'x', same);
  }
  for (const other of ['blue kettle 43', 'bluekettle42', '']) {
    assert.equal(await openLock(lock, other), undefined, other);
  }
});

test('the key behind a lock is handed to nobody, and is a new one each time', async () => {
  const [one, two] = await Promise.all([makeLock('481516', facts), makeLock('481516', facts)]);
  await assert.rejects(crypto.subtle.exportKey('raw', one.key));
  const row = await seal(one.key, 'log/1', 'x');
  await assert.rejects(unseal(two.key, 'log/1', row));
  assert.notDeepEqual(one.lock.salt, two.lock.salt);
});

// OWASP Cheat Sheet Series, "Password Storage" (as of May 2023): PBKDF2 with HMAC-SHA-256 and a work
// factor of 600,000 or more. RFC 8018 (January 2017), section 5.2; Node's is the second opinion.
test('the PIN is stretched as OWASP asks for', async () => {
  const { lock } = await makeLock('481516', facts);
  assert.ok(lock.rounds >= 600_000);
  const outer = pbkdf2Sync('481516', lock.salt, 600_000, 32, 'sha256');
  const how = { name: 'AES-GCM', iv: lock.key.iv };
  const key = await crypto.subtle.importKey('raw', outer, 'AES-GCM', false, ['decrypt']);
  assert.equal((await crypto.subtle.decrypt(how, key, lock.key.box)).byteLength, 32);
  // RFC 7914 (August 2016), section 11, the first 32 bytes: the second opinion itself is right.
  assert.equal(pbkdf2Sync('passwd', 'salt', 1, 32, 'sha256').toString('hex'),
    '55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc');
});

// RFC 5869 (May 2010); Node's is the second opinion, and its test case 3 (appendix A.3, no salt, no
// info) says that Node's is right.
test('the secret of a passkey is spread by HKDF, and seals the key that the PIN seals', async () => {
  const { lock, key, inner } = await makeLock('481516', facts);
  const secret = new Uint8Array(32).fill(7).buffer;
  const both = await addPasskey(lock, inner, { id: new ArrayBuffer(2), secret });
  const row = await seal(key, 'log/1', 'x');
  assert.equal(await unseal((await openByPasskey(both, secret))!, 'log/1', row), 'x');
  assert.equal(await openByPasskey(both, new ArrayBuffer(32)), undefined);
  assert.equal(await openByPasskey(lock, secret), undefined);
  await assert.rejects(crypto.subtle.exportKey('raw', (await openByPasskey(both, secret))!));

  const outer = hkdfSync('sha256', new Uint8Array(secret), lock.salt, '', 32);
  const how = { name: 'AES-GCM', iv: both.passkey!.key.iv };
  const theirs = await crypto.subtle.importKey('raw', outer, 'AES-GCM', false, ['decrypt']);
  const opened = await crypto.subtle.decrypt(how, theirs, both.passkey!.key.box);
  assert.deepEqual(opened, await crypto.subtle.exportKey('raw', inner));
  const known = Buffer.from(hkdfSync('sha256', new Uint8Array(22).fill(0x0b), '', '', 42));
  assert.equal(known.toString('hex'), '8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d'
    + '9d201395faa4b61a96c8');
});

const pins: readonly (readonly [string, ReturnType<typeof weakness>, string])[] = [
  ['48151', 'short', 'five figures'],
  ['4 8 1 5 1', 'short', 'spaces do not count'],
  ['٤٨١٥١', 'short', 'five figures of another script'],
  ['000000', 'plain', 'one figure over and over'],
  ['123456', 'plain', 'up'],
  ['٦٥٤٣٢١', 'plain', 'down, in another script'],
  ['481516', undefined, 'six figures'],
  ['kettle', undefined, 'a word'],
];

test('a PIN that is tried first is refused', () => {
  for (const [pin, want, why] of pins) assert.equal(weakness(pin), want, why);
});

// Worked by hand: 30 s after the fifth wrong try, twice as long after each further one, 8 h at most.
const waits: readonly (readonly [number, number])[] = [
  [0, 0], [4, 0], [5, 30], [6, 60], [9, 480], [10, 960], [14, 15_360], [15, 28_800], [1_000, 28_800],
];

test('the wait grows with wrong tries', () => {
  const wait = (tries: number, nowMS: number) => openFromMS({ tries, lastMS: 1_000 }, nowMS);
  for (const [tries, seconds] of waits) {
    assert.equal(wait(tries, 1_000), seconds === 0 ? 0 : 1_000 + seconds * 1_000, String(tries));
    assert.equal(wait(tries, 1_000 + seconds * 1_000), 0, `${tries}, over`);
  }
});
