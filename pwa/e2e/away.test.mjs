/**
 * A phone that stays away from its practice for longer than that wants, in a real browser on the
 * real server: it closes itself, and is empty when it is opened a day later, without a network too.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { Phone, Practice } from './practice.mjs';

const dayMS = 86_400_000;
const person = 'Ines K.';

let browser;
let practice;
let phone;
let days = 0; // by which the phone's clock is ahead

before(async () => {
  practice = await Practice.start('--empty-after-days', '30');
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
});

after(async () => {
  await browser?.close();
  await practice?.stop();
});

/** Page and worker start with the clock put on; without a service worker, which hides scripts. */
async function clocks(context) {
  await context.route(/\/assets\/(boot|worker)\.\w+\.js$/, async (route) => {
    const response = await route.fetch();
    const put = `{const now=Date.now;Date.now=()=>now()+${days * dayMS};}`;
    await route.fulfill({ response, body: put + await response.text() });
  });
}

async function openAfter(so) {
  days = so;
  await phone.page.reload();
  await phone.screen();
}

const empties = async () => Object.keys(await phone.digests()).length === 0;

test('what is unsent stays on the phone, and can be seen', async () => {
  phone = await Phone.open(browser, await practice.setUpLink(), { serviceWorkers: 'block' });
  await clocks(phone.context);
  await phone.fill('Name of the practice', 'Plumb Yard');
  await phone.fill('Your name', 'Maren D.');
  await phone.tap('Join');
  await phone.sees('Nobody is here yet');
  await phone.sees(/All sent/);
  await phone.context.route('**/api/**', (route) => route.abort());
  await phone.tap('Add a person');
  await phone.fill('Name', person);
  await phone.tap('Save');
  await phone.sees(person);
  await openAfter(40);
  await phone.sees('It is kept until everything on it has been sent');
  await openAfter(42);
  await phone.sees(person);
});

test('what is sent is closed after so many days, and empty a day later', async () => {
  await phone.context.unroute('**/api/**');
  await openAfter(0);
  await phone.sees(/All sent/);
  await phone.context.route('**/api/**', (route) => route.abort());
  await openAfter(29);
  await phone.sees(person);
  await openAfter(31);
  await phone.sees('Closed after 30 days without contact');
  assert.equal((await phone.page.locator('main').innerText()).includes(person), false);
  await openAfter(0); // the clock was wrong
  await phone.sees(person);
  await openAfter(31);
  await phone.sees('Closed after 30 days without contact');
  assert.equal(await empties(), false);
  await openAfter(33);
  await phone.sees('This phone was emptied after 30 days without contact');
  assert.equal(await empties(), true);
  await openAfter(34);
  await phone.sees('To come back you need a new invitation');
  await phone.sees('Join your practice');
});
