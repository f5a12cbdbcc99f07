/**
 * Rows as they lie on the phone: encrypted with AES-GCM (NIST SP 800-38D, 2007) under one key, with
 * 96 fresh random bits each time. A row is bound to its place: moved elsewhere it does not open.
 */

/** A row that only the phone's key opens. */
export interface Sealed {
  readonly iv: Uint8Array<ArrayBuffer>;
  readonly box: ArrayBuffer;
}

/** How the phone shows things, known while all else is locked. */
export interface Prefs {
  readonly lang: string;
  readonly scheme: string;
}

/**
 * What stands in the place of the rows' key where a PIN guards it (worker/lock.ts). It lies in the
 * clear: of a person's data it says only how many entries have not been sent and whether a session is under way.
 */
export interface Lock {
  readonly salt: Uint8Array<ArrayBuffer>;
  readonly rounds: number;
  /** The rows' key, sealed under the PIN. */
  readonly key: Sealed;
  /** The same key, sealed under the secret of a passkey of this phone. */
  readonly passkey?: { readonly id: ArrayBuffer; readonly key: Sealed };
  /** The phone locks after so long out of sight. */
  readonly minutes: number;
  /** Wrong tries in a row, and the wall time of the last one. */
  readonly tries: number;
  readonly lastMS: number;
  /** Entries that only this phone has. */
  readonly unsent: number;
  /** A test or a session is. */
  readonly underWay: boolean;
  readonly prefs?: Prefs;
}

export function isLock(kept: CryptoKey | Lock | undefined): kept is Lock {
  return kept !== undefined && 'salt' in kept;
}

export const cipher = { name: 'AES-GCM', length: 256 } as const;
export const uses: readonly KeyUsage[] = ['encrypt', 'decrypt'];

/** A key that this browser uses but hands to nobody, this app included. */
export function makeKey(): Promise<CryptoKey> {
  return crypto.subtle.generateKey(cipher, false, uses);
}

const isBytes = 0;
const isJSON = 1;

/** Seals bytes or plain JSON for the row `place`, "store/key". */
export async function seal(key: CryptoKey, place: string, value: unknown): Promise<Sealed> {
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const content = value instanceof Uint8Array ? value : utf8(JSON.stringify(value));
  const plain = new Uint8Array(content.length + 1);
  plain[0] = value instanceof Uint8Array ? isBytes : isJSON;
  plain.set(content, 1);
  return { iv, box: await crypto.subtle.encrypt(how(iv, place), key, plain) };
}

/** The value that was sealed for that place. Throws for anything else, a plain row included. */
export async function unseal(key: CryptoKey, place: string, row: unknown): Promise<unknown> {
  const { iv, box } = row as Sealed;
  const plain = new Uint8Array(await crypto.subtle.decrypt(how(iv, place), key, box));
  const content = plain.subarray(1);
  return plain[0] === isBytes ? content : JSON.parse(new TextDecoder().decode(content));
}

function how(iv: Uint8Array<ArrayBuffer>, place: string): AesGcmParams {
  return { name: 'AES-GCM', iv, additionalData: utf8(place) };
}

function utf8(text: string): Uint8Array<ArrayBuffer> {
  return new TextEncoder().encode(text) as Uint8Array<ArrayBuffer>;
}
