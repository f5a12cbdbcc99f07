/**
 * Coming back with a passkey, in a real browser on the real server over https: under a name, and
 * under an address.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { ownersPhone, passkeysOf, withAuthenticator } from './authenticator.mjs';
import { LAN } from './lan.mjs';

let lan;
let phone;
/** The passkeys as an account passes them on to a person's next phone. */
let passkeys;

before(async () => {
  lan = await LAN.start('practice.home.arpa');
});

after(async () => {
  await phone?.context.close();
  await lan?.remove();
});

test('what a passkey does is said, then it is made', async () => {
  phone = await ownersPhone(lan);
  await phone.tap('Add a person');
  await phone.screen('form');
  await phone.fill('Name', 'Ines K.');
  await phone.tap('Save');
  await phone.sees(/All sent/);
  await phone.tap('Back');
  await phone.tap('Come back without an invitation');
  await phone.sees(/It ends when this phone is shut out/);
  await phone.tap('Make a passkey');
  await phone.sees('The passkey is made');
  passkeys = await passkeysOf(phone);
  assert.equal(passkeys.length, 1);
  assert.equal(passkeys[0].rpId, 'practice.home.arpa');
  assert.deepEqual(phone.complaints, []);
});

test('the next phone comes back with it, as the same person', async () => {
  await phone.context.close();
  phone = await withAuthenticator(lan, passkeys);
  await phone.sees('Join your practice');
  await phone.tap('Come back with a passkey');
  await phone.sees('Ines K.');
  await phone.command('go', { route: '/practice/people' });
  await phone.sees('Maren D.');
  assert.deepEqual(phone.complaints, []);
});

test('who does not want to is told that nothing was changed', async () => {
  const other = await withAuthenticator(lan);
  await other.sees('Join your practice');
  await other.page.evaluate(() => {
    navigator.credentials.get = () => Promise.reject(new DOMException('no', 'NotAllowedError'));
  });
  await other.tap('Come back with a passkey');
  await other.sees('No passkey was used, and nothing was changed');
  await other.sees('Join your practice');
  await other.context.close();
});

test('it ends with the phone on which it was made', async () => {
  await phone.command('go', { route: '/phones' });
  await phone.sees(/A passkey made on it/);
  await phone.tap('Shut this phone out');
  await phone.tap('Shut it out');
  await phone.page.getByText(/A passkey made on it/).waitFor({ state: 'detached' });
  const other = await withAuthenticator(lan, passkeys);
  await other.tap('Come back with a passkey');
  await other.sees(/does not let this passkey in/);
  await other.context.close();
});

test('under an address without a name there is nothing to choose', async () => {
  const bare = await LAN.start('127.0.0.1');
  const other = await ownersPhone(bare);
  try {
    assert.equal(await other.page.getByText(/without an invitation/i).count(), 0);
    assert.equal(await other.page.getByText(/passkey/i).count(), 0);
  } finally {
    await other.context.close();
    await bare.remove();
  }
});
