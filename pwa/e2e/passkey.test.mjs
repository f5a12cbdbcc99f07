/**
 * A passkey that opens the phone's lock, in a real browser on the real server over https: under a
 * name, and under an address.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { ownersPhone, passkeysOf } from './authenticator.mjs';
import { LAN } from './lan.mjs';

const pin = 'blue kettle 42';

let lan;
let phone;

before(async () => {
  lan = await LAN.start('practice.home.arpa');
  phone = await ownersPhone(lan);
});

after(async () => {
  await phone?.context.close();
  await lan?.remove();
});

/** The person who is asked for a passkey says no, until the page is loaded anew. */
const refuse = () => phone.page.evaluate(() => {
  navigator.credentials.get = () => Promise.reject(new DOMException('no', 'NotAllowedError'));
});

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
  assert.equal((await passkeysOf(phone)).length, 1);
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
  const [{ credentialId }] = await passkeysOf(phone);
  const { cdp, authenticatorId } = phone;
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
  const { cdp, authenticatorId } = phone;
  await cdp.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: false });
  await phone.tap('Add a passkey of this phone');
  await phone.sees(/passkey did not work/);
  assert.equal((await passkeysOf(phone)).length, 0);
  assert.deepEqual(phone.complaints, []);
});

test('under an address without a name there is no passkey to choose', async () => {
  const bare = await LAN.start('127.0.0.1');
  const other = await ownersPhone(bare);
  try {
    assert.equal(await other.page.evaluate(() => isSecureContext), true);
    await setPIN(other);
    assert.equal(await other.page.getByText(/passkey/i).count(), 0);
  } finally {
    await other.context.close();
    await bare.remove();
  }
});
