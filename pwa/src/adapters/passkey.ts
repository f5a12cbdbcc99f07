/**
 * Passkeys. One to come back with: the server asks, and checks what it is answered. And one of this
 * phone, for its lock: asked for its secret (extension "prf", WebAuthn Level 3, W3C,
 * section 10.1.4). Nobody checks its signature: the secret opens what it sealed, or does not.
 */
import type { PasskeySaid } from '../answer';

/** Whether this phone has such passkeys; under an address without a name it has none. */
export async function hasPasskeys(): Promise<boolean> {
  if (/^[\d.]+$|:/.test(location.hostname)) return false;
  const some = globalThis as Partial<Pick<typeof globalThis, 'PublicKeyCredential'>>;
  const can = await some.PublicKeyCredential?.getClientCapabilities?.();
  return !!can?.['extension:prf'] && !!can['userVerifyingPlatformAuthenticator'];
}

/** The secret of a passkey, a new one without `id`; undefined where it did not come to that. */
export async function askPasskey(id?: ArrayBuffer): Promise<PasskeySaid | undefined> {
  const { credentials } = navigator;
  const userVerification = 'required';
  const first = new Uint8Array(1);
  const publicKey: PublicKeyCredentialRequestOptions & PublicKeyCredentialCreationOptions = {
    challenge: new Uint8Array(16), extensions: { prf: { eval: { first } } },
    // What only a known passkey is asked.
    userVerification, allowCredentials: [{ type: 'public-key', id: id! }],
    // What only a new one is: under one user, so that it takes the place of one made before.
    rp: { name: 'Evenhold' }, user: { id: first, name: 'Evenhold', displayName: '' },
    pubKeyCredParams: [], // ES256 and RS256, says the standard
    authenticatorSelection: { authenticatorAttachment: 'platform', userVerification },
  };
  try {
    const asked = id ? credentials.get({ publicKey }) : credentials.create({ publicKey });
    const said = (await asked) as PublicKeyCredential;
    const secret = said.getClientExtensionResults().prf?.results?.first as ArrayBuffer | undefined;
    if (secret) return { id: said.rawId, secret };
    return id ? undefined : await askPasskey(said.rawId); // some give it only when they are used
  } catch {
    return undefined; // the person did not want to, or the passkey is gone
  }
}

/** What the server asks, in the JSON form of Web Authentication Level 3, W3C. */
interface PasskeyAsked {
  readonly passkey: PublicKeyCredentialCreationOptionsJSON & PublicKeyCredentialRequestOptionsJSON;
  readonly isNew: boolean;
}

export function isPasskeyAsked(value: unknown): value is PasskeyAsked {
  return typeof value === 'object' && value !== null && 'passkey' in value;
}

/** Puts the server's question to the browser; undefined where it did not come to an answer. */
export async function answerPasskey({ passkey, isNew }: PasskeyAsked): Promise<unknown> {
  const { credentials } = navigator;
  const { parseCreationOptionsFromJSON, parseRequestOptionsFromJSON } = PublicKeyCredential;
  try {
    const said = await (isNew
      ? credentials.create({ publicKey: parseCreationOptionsFromJSON(passkey) })
      : credentials.get({ publicKey: parseRequestOptionsFromJSON(passkey) }));
    return (said as PublicKeyCredential).toJSON();
  } catch {
    return undefined; // the person did not want to, or there is none
  }
}
