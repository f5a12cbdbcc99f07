/**
 * Rows as they lie on the phone: encrypted with AES-GCM (NIST SP 800-38D, 2007) under one key, with
 * 96 fresh random bits each time. A row is bound to its place: moved elsewhere it does not open.
 */

/** A row that only the phone's key opens. */
export interface Sealed {
  readonly iv: Uint8Array<ArrayBuffer>;
  readonly box: ArrayBuffer;
}

/** A key that this browser uses but hands to nobody, this app included. */
export function makeKey(): Promise<CryptoKey> {
  return crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
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
