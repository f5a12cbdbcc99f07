/**
 * A phone with a PIN, in a real browser on the real server: set, locked by hand, by time out of
 * sight and by a page that dies in the middle of a hold, opened, forgotten.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { Phone, Practice } from './practice.mjs';

const pin = 'blue kettle 42';
const person = 'Ines K.';

let browser;
let practice;
let phone;
let route;

before(async () => {
  practice = await Practice.start();
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
});

after(async () => {
  await browser?.close();
  await practice?.stop();
});

/** Keeps whether a person's name ever stood on the page, from its first moment on. */
const watchFor = (name) => {
  globalThis.sawName = false;
  new MutationObserver(() => {
    globalThis.sawName ||= document.body?.innerText.includes(name) ?? false;
  }).observe(document, { subtree: true, childList: true, characterData: true });
};

/** Tells the page that it is out of sight, or seen again. */
const look = (visible) => phone.page.evaluate((state) => {
  Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => state });
  document.dispatchEvent(new Event('visibilitychange'));
}, visible ? 'visible' : 'hidden');

async function unlock() {
  await phone.sees('Evenhold is locked');
  await phone.fill('PIN', pin);
  await phone.tap('Unlock');
}

test('a PIN is set; what it does and does not stop is said first', async () => {
  phone = await Phone.open(browser, await practice.setUpLink());
  await phone.fill('Name of the practice', 'Plumb Yard');
  await phone.fill('Your name', 'Maren D.');
  await phone.tap('Join');
  await phone.sees('Nobody is here yet');
  await phone.ready();
  await phone.sees(/All sent/);
  await phone.context.addInitScript(watchFor, person);
  await phone.offline();
  await phone.tap('Add a person');
  await phone.fill('Name', person);
  await phone.tap('Save');
  await phone.sees(person);
  route = new URL(phone.page.url()).pathname;
  await phone.command('go', { route: '/' });
  await phone.tap('Lock with a PIN');
  await phone.sees(/six figures can all be tried/);
  await phone.fill('PIN', pin);
  await phone.fill('The same once more', 'another 42');
  await phone.tap('Set the PIN');
  await phone.sees('The two are not the same');
  await phone.fill('The same once more', pin);
  await phone.tap('Set the PIN');
  await phone.sees('The PIN is set');
});

test('locked, the page shows nobody; a wrong PIN opens nothing, the right one does', async () => {
  await phone.tap('Lock now');
  await phone.sees('Evenhold is locked');
  await phone.sees(/1 entr|entries on this phone have not been sent/);
  await phone.page.goto(practice.url + route); // without a network, too
  await phone.sees('Evenhold is locked');
  await phone.fill('PIN', 'blue kettle 43');
  await phone.tap('Unlock');
  await phone.sees('That is not the PIN');
  assert.equal(await phone.page.evaluate(() => globalThis.sawName), false);
  await unlock();
  await phone.sees(person);
  assert.equal(new URL(phone.page.url()).pathname, route, 'it goes on where it was asked to');
});

test('what is shown is covered out of sight, and never while a hold is timed', async () => {
  const root = phone.page.locator('#app');
  await look(false);
  await root.waitFor({ state: 'hidden' });
  await look(true);
  await root.waitFor({ state: 'visible' });

  const start = { values: { step: 'straight_leg_hold', first: 'left', stand: 'behind', told: 'no' } };
  await phone.command('go', { route: `${route}/test` });
  await phone.command('test.prepare', start);
  await phone.page.locator('.half.next').click();
  await phone.page.locator('.half.running').waitFor();
  await look(false);
  await phone.command('digest'); // the worker has heard of it by now
  assert.equal(await root.isVisible(), true);
  await look(true);
});

test('a page that dies in the middle of a hold asks for the PIN, and the hold goes on', async () => {
  const since = Date.now();
  await phone.crash();
  await phone.load(`${practice.url}${route}/test`);
  await phone.sees('A hold that runs goes on counting');
  await unlock();
  const running = phone.page.locator('.half.running');
  await running.waitFor();
  await phone.page.waitForFunction((atLeast) =>
    Number(document.querySelector('.half.running .digits')?.textContent) >= atLeast,
  Math.floor((Date.now() - since) / 1000));
  await phone.command('digest');
  await running.click();
  await phone.tap('Gave up');
  await phone.sees(/Rest/);
});

test('a forgotten PIN: what is lost is said, then the phone is empty', async () => {
  await phone.offline(false);
  await phone.command('go', { route: '/lock' });
  await phone.tap('Lock now');
  await phone.tap('I have forgotten it');
  await phone.sees('Empty this phone?');
  await phone.tap('Empty it');
  await phone.sees(/invitation|code/i);
  assert.equal(Object.keys(await phone.digests()).length, 0);
  await phone.page.reload();
  await phone.screen();
  assert.equal((await phone.page.locator('main').innerText()).includes('locked'), false);
  assert.deepEqual(phone.complaints, []);
});
