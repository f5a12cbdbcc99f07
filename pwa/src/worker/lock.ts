/**
 * The phone's lock: a PIN, or some words, of the person's own choosing seal the key of the rows.
 *
 * The PIN is stretched by PBKDF2 (RFC 8018, January 2017) with HMAC-SHA-256 in 600,000 rounds, as
 * the OWASP Cheat Sheet Series asks for ("Password Storage", as of May 2023). It has no better way
 * that browsers know. Six figures still are a million possibilities: they hold against hands, not
 * against a computer that has the files.
 *
 * A passkey of the phone may stand beside the PIN: its secret seals the same key. Never in the PIN's
 * place: a passkey that is deleted would take the rows with it.
 */
import type { PasskeySaid } from '../answer';
import { cipher, uses, type Lock, type Sealed } from '../sealing';

const rounds = 600_000;

/** So many characters at least, spaces not counted. */
export const shortest = 6;

/** So many wrong tries empty the phone. */
export const mostTries = 10;

/** What a lock says while it is shut. */
export type Facts = Pick<Lock, 'unsent' | 'underWay' | 'prefs'>;

const freeTries = 5;
const firstWaitMS = 30_000;
const longestWaitMS = 8 * 3_600_000;

/** Why a PIN is not good enough, or undefined. */
export function weakness(pin: string): 'short' | 'plain' | undefined {
  const said = [...plain(pin).replaceAll(' ', '')].map((c) => c.codePointAt(0)!);
  if (said.length < shortest) return 'short';
  const steps = said.slice(1).map((c, i) => c - said[i]!);
  const isRun = Math.abs(steps[0]!) <= 1 && steps.every((step) => step === steps[0]);
  return isRun ? 'plain' : undefined;
}

/**
 * A lock and the key behind it, which this browser uses but hands to nobody; `inner` is that key once
 * more, for a passkey to seal.
 */
export async function makeLock(
  pin: string,
  facts: Facts & Pick<Lock, 'minutes'>,
): Promise<{ readonly lock: Lock; readonly key: CryptoKey; readonly inner: CryptoKey }> {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const inner = await crypto.subtle.generateKey(cipher, true, uses);
  const key = await wrap(inner, await stretch(pin, salt, rounds));
  const lock: Lock = { ...facts, salt, rounds, key, tries: 0, lastMS: 0 };
  return { lock, key: (await openLock(lock, pin))!, inner };
}

/** The key behind a lock; undefined for a wrong PIN. */
export async function openLock(lock: Lock, pin: string): Promise<CryptoKey | undefined> {
  return unwrap(lock.key, await stretch(pin, lock.salt, lock.rounds));
}

/** The lock with a passkey beside its PIN. `inner` is what makeLock gave with that lock. */
export async function addPasskey(
  lock: Lock,
  inner: CryptoKey,
  { id, secret }: PasskeySaid,
): Promise<Lock> {
  return { ...lock, passkey: { id, key: await wrap(inner, await spread(secret, lock.salt)) } };
}

/** The key behind a lock; undefined for another secret than its passkey's. */
export async function openByPasskey(
  lock: Lock,
  secret: ArrayBuffer,
): Promise<CryptoKey | undefined> {
  return lock.passkey && unwrap(lock.passkey.key, await spread(secret, lock.salt));
}

async function wrap(inner: CryptoKey, outer: CryptoKey): Promise<Sealed> {
  const iv = crypto.getRandomValues(new Uint8Array(12));
  return { iv, box: await crypto.subtle.wrapKey('raw', inner, outer, { name: cipher.name, iv }) };
}

function unwrap({ iv, box }: Sealed, outer: CryptoKey): Promise<CryptoKey | undefined> {
  const how = { name: cipher.name, iv };
  return crypto.subtle
    .unwrapKey('raw', box, outer, how, cipher, false, uses)
    .catch(() => undefined); // its seal does not match: another PIN or passkey
}

/** When the next try is heard, as a wall time; 0 for at once. */
export function openFromMS(
  { tries, lastMS }: Pick<Lock, 'tries' | 'lastMS'>,
  nowMS: number,
): number {
  const waitMS = tries < freeTries
    ? 0
    : Math.min(firstWaitMS * 2 ** (tries - freeTries), longestWaitMS);
  return lastMS + waitMS > nowMS ? lastMS + waitMS : 0;
}

function stretch(pin: string, salt: BufferSource, times: number): Promise<CryptoKey> {
  const how = { name: 'PBKDF2', hash: 'SHA-256', salt, iterations: times };
  return derive(new TextEncoder().encode(plain(pin)), how);
}

/** A passkey's secret is 256 random bits already: HKDF (RFC 5869, May 2010). */
function spread(secret: BufferSource, salt: BufferSource): Promise<CryptoKey> {
  return derive(secret, { name: 'HKDF', hash: 'SHA-256', salt, info: new Uint8Array(0) });
}

async function derive(from: BufferSource, how: Pbkdf2Params | HkdfParams): Promise<CryptoKey> {
  const base = await crypto.subtle.importKey('raw', from, how.name, false, ['deriveKey']);
  return crypto.subtle.deriveKey(how, base, cipher, false, ['wrapKey', 'unwrapKey']);
}

/** The same for every keyboard: Latin figures, small letters, single spaces. */
function plain(pin: string): string {
  return pin
    .normalize('NFKC')
    .replace(/[٠-٩]/g, (c) => String(c.charCodeAt(0) - 0x660))
    .replace(/[۰-۹]/g, (c) => String(c.charCodeAt(0) - 0x6f0))
    .toLowerCase()
    .trim()
    .replace(/\s+/g, ' ');
}
