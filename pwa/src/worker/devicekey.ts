/**
 * The key that tells this phone from a copy of its cookie. The browser keeps it and lets nobody,
 * this app included, read it out; it only signs.
 */
import { openDB } from 'idb';

const curve = { name: 'ECDSA', namedCurve: 'P-256' } as const;

/** What goes with a request for a token; empty where the browser keeps no keys. */
export interface Proof {
  readonly key?: string;
  readonly signature?: string;
}

export class DeviceKey {
  private kept: Promise<CryptoKeyPair | undefined> | undefined;

  constructor(private readonly find: () => Promise<CryptoKeyPair> = findOrMake) {}

  /** The public key and, over a challenge, the signature. */
  async proof(challenge?: string): Promise<Proof> {
    this.kept ??= this.find().catch((cause: unknown) => {
      console.warn(cause); // no secure origin, or a browser that stores no keys
      return undefined;
    });
    const pair = await this.kept;
    if (pair === undefined) return {};
    const key = base64(await crypto.subtle.exportKey('raw', pair.publicKey));
    if (challenge === undefined) return { key };
    const text = new TextEncoder().encode(`evenhold refresh ${challenge}`);
    const hashed = { name: 'ECDSA', hash: 'SHA-256' };
    const signature = base64(await crypto.subtle.sign(hashed, pair.privateKey, text));
    return { key, signature };
  }
}

// A database of its own: the practice's rows are emptied when a phone changes hands.
async function findOrMake(): Promise<CryptoKeyPair> {
  const db = await openDB('evenhold-key', 1, {
    upgrade: (made) => void made.createObjectStore('key'),
  });
  try {
    const found = (await db.get('key', 'device')) as CryptoKeyPair | undefined;
    if (found) return found;
    const pair = await crypto.subtle.generateKey(curve, false, ['sign', 'verify']);
    await db.put('key', pair, 'device');
    return pair;
  } finally {
    db.close();
  }
}

function base64(bytes: ArrayBuffer): string {
  return btoa(String.fromCharCode(...new Uint8Array(bytes)));
}
