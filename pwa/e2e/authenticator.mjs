/**
 * A phone with the authenticator of the browser's own tests (WebDriver extension of Web
 * Authentication Level 3, W3C, section 11).
 */
import { Phone } from './practice.mjs';

/** A phone of its own browser at `at`, whose authenticator knows these passkeys already. */
export async function withAuthenticator(at, known = []) {
  const phone = new Phone();
  phone.context = await at.browser(await at.certificate());
  phone.complaints = [];
  await phone.load(`${at.app}/`);
  phone.cdp = await phone.context.newCDPSession(phone.page);
  await phone.cdp.send('WebAuthn.enable');
  ({ authenticatorId: phone.authenticatorId } = await phone.cdp.send(
    'WebAuthn.addVirtualAuthenticator', {
      options: {
        protocol: 'ctap2', ctap2Version: 'ctap2_1', transport: 'internal', hasPrf: true,
        hasResidentKey: true, hasUserVerification: true, isUserVerified: true,
      },
    },
  ));
  const { authenticatorId } = phone;
  for (const credential of known) {
    await phone.cdp.send('WebAuthn.addCredential', { authenticatorId, credential });
  }
  await phone.page.reload(); // the app looks for an authenticator when it starts
  await phone.screen();
  return phone;
}

/** The owner's phone of a practice that it has just set up. */
export async function ownersPhone(at) {
  const phone = await withAuthenticator(at);
  await phone.page.goto(await at.setUpLink());
  await phone.fill('Name of the practice', 'Plumb Yard');
  await phone.fill('Your name', 'Maren D.');
  await phone.tap('Join');
  await phone.sees('Nobody is here yet');
  return phone;
}

/** The passkeys that its authenticator has. */
export async function passkeysOf({ cdp, authenticatorId }) {
  return (await cdp.send('WebAuthn.getCredentials', { authenticatorId })).credentials;
}
