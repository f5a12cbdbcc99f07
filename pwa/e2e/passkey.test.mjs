/**
 * Passkeys in a real browser with the authenticator of its own tests (WebDriver extension of WebAuthn
 * Level 3, W3C, section 11), on the real server over https: under a name, and under an address.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { LAN } from './lan.mjs';
import { Phone } from './practice.mjs';

const pin = 'blue kettle 42';

let lan;
let phone;
let cdp;
let authenticatorId;

before(async () => {
  lan = await LAN.start('practice.home.arpa');
  phone = await joined(lan);
});

after(async () => {
  await phone?.context.close();
  await lan?.remove();
});

/** The owner's phone, which has an authenticator like that of a phone. */
async function joined(at) {
  const one = new Phone();
  one.context = await at.browser(await at.certificate());
  one.complaints = [];
  await one.load(`${at.app}/`);
  cdp = await one.context.newCDPSession(one.page);
  await cdp.send('WebAuthn.enable');
  ({ authenticatorId } = await cdp.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2', ctap2Version: 'ctap2_1', transport: 'internal', hasPrf: true,
      hasResidentKey: true, hasUserVerification: true, isUserVerified: true,
    },
  }));
  await one.page.goto(await at.setUpLink());
  await one.fill('Name of the practice', 'Plumb Yard');
  await one.fill('Your name', 'Maren D.');
  await one.tap('Join');
  await one.sees('Nobody is here yet');
  return one;
}

/** The person who is asked for a passkey says no, until the page is loaded anew. */
const refuse = () => phone.page.evaluate(() => {
  navigator.credentials.get = () => Promise.reject(new DOMException('no', 'NotAllowedError'));
});

const passkeys = async () =>
  (await cdp.send('WebAuthn.getCredentials', { authenticatorId })).credentials;

async function setPIN(one) {
  await one.tap('Lock with a PIN');
  await one.fill('PIN', pin);
  await one.fill('The same once more', pin);
  await one.tap('Set the PIN');
  await one.sees('The PIN is set');
}

test('a passkey is offered when there is a PIN, and what it is good for is said before', async () => {
  await phone.tap('Lock with a PIN');
  await phone.sees(/Copied files are no harder to open/);
  await phone.tap('Back');
  await setPIN(phone);
  await phone.tap('Add a passkey of this phone');
  await phone.sees('A passkey of this phone opens it, too');
  assert.equal((await passkeys()).length, 1);
});

test('locked, it opens by the passkey; refused, it asks for the PIN and counts no try', async () => {
  await phone.ready();
  await phone.tap('Lock now');
  await phone.sees('Evenhold is locked');
  await refuse();
  await phone.tap('Open with the passkey');
  await phone.sees(/did not work.*no wrong try/);
  assert.equal(await phone.page.getByText(/wrong tr(y|ies) empt/).count(), 0);
  await phone.offline(); // and after a start without a network
  await phone.page.reload();
  await phone.sees('Evenhold is locked');
  await phone.tap('Open with the passkey');
  await phone.sees('A PIN locks Evenhold');
  await phone.offline(false);
});

test('a passkey that was deleted costs nothing: the PIN opens', async () => {
  await phone.tap('Lock now');
  await phone.sees('Evenhold is locked');
  const [{ credentialId }] = await passkeys();
  await cdp.send('WebAuthn.removeCredential', { authenticatorId, credentialId });
  await phone.tap('Open with the passkey');
  await phone.sees(/passkey did not work/);
  await phone.fill('PIN', pin);
  await phone.tap('Unlock');
  await phone.sees('A PIN locks Evenhold');
});

test('a PIN that is set again takes the passkey off; who proves nothing makes none', async () => {
  await phone.tap('Change or remove the PIN');
  await phone.fill('PIN so far', pin);
  await phone.fill('New PIN', pin);
  await phone.fill('The same once more', pin);
  await phone.tap('Change');
  await phone.sees('The PIN is set');
  assert.equal(await phone.page.getByText('A passkey of this phone opens it, too').count(), 0);
  await cdp.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: false });
  await phone.tap('Add a passkey of this phone');
  await phone.sees(/passkey did not work/);
  assert.equal((await passkeys()).length, 0);
  assert.deepEqual(phone.complaints, []);
});

test('under an address without a name there is no passkey to choose', async () => {
  const bare = await LAN.start('127.0.0.1');
  const other = await joined(bare);
  try {
    assert.equal(await other.page.evaluate(() => isSecureContext), true);
    await setPIN(other);
    assert.equal(await other.page.getByText(/passkey/i).count(), 0);
  } finally {
    await other.context.close();
    await bare.remove();
  }
});
