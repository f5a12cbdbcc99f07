/**
 * What a phone must hold against in a real browser on the real server: codes in addresses, hostile
 * names, other sites, new versions in the middle of a hold, a browser that tidies up.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { Phone, Practice } from './practice.mjs';

let browser;
let practice;
let owner;
let doc;
const asked = []; // every request of the phone
let code;

/** Texts of the kinds that "Cross Site Scripting Prevention Cheat Sheet", OWASP, warns of. */
const hostile = [
  '<img src=x onerror=hook()>',
  '"><svg/onload=hook()>',
  '<script>hook()</script>',
  "'-hook()-'",
  'javascript:hook()',
  '{{hook()}}${hook()}',
  '<iframe srcdoc="<script>parent.hook()</script>">',
];

/** In the page, before any of its own scripts. */
function watch() {
  globalThis.hooked = [];
  globalThis.hook = () => globalThis.hooked.push('hook');
  globalThis.alert = globalThis.hook;
  document.addEventListener('securitypolicyviolation', (event) => {
    globalThis.hooked.push(`${event.violatedDirective} ${event.blockedURI}`);
  });
  globalThis.askedToKeep = 0;
  StorageManager.prototype.persisted = () => Promise.resolve(false);
  StorageManager.prototype.persist = () => {
    globalThis.askedToKeep++;
    return Promise.resolve(true);
  };
  const { prototype } = ServiceWorkerRegistration;
  Object.defineProperty(prototype, 'waiting', {
    get: () => (sessionStorage.newVersion ? { postMessage() {} } : null),
  });
}

before(async () => {
  practice = await Practice.start();
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
  owner = new Phone();
  owner.complaints = [];
  owner.context = await browser.newContext({ viewport: { width: 390, height: 844 }, locale: 'en-GB' });
  owner.context.setDefaultTimeout(60_000);
  await owner.context.addInitScript(watch);
  owner.context.on('request', (request) => asked.push(request));
});

after(async () => {
  await browser?.close();
  await practice?.stop();
});

/** What the page did that it was not to do, and what it made of texts. */
async function isQuiet(text) {
  const found = await owner.page.evaluate(() => ({
    hooked: globalThis.hooked,
    made: document.querySelectorAll('main img[src=x], svg[onload], iframe, main script').length,
  }));
  assert.deepEqual(found, { hooked: [], made: 0 }, text);
}

test('the code of a link is taken out of the address, and no request carries it', async () => {
  const link = await practice.setUpLink();
  code = link.split('#')[1];
  await owner.load(link);
  await owner.fill('Name of the practice', hostile[0]);
  await owner.fill('Your name', hostile[1]);
  assert.ok(!owner.page.url().includes('#'), owner.page.url());
  assert.equal(await owner.page.evaluate(() => globalThis.askedToKeep), 0);
  await owner.tap('Join');
  await owner.sees(/All sent/);
  await owner.ready();
  for (const request of asked) {
    const { referer } = await request.allHeaders();
    assert.ok(!request.url().includes(code) && !(referer ?? '').includes(code), request.url());
  }
  const [, log] = practice.said.split('msg=serving');
  assert.ok(log.includes('route=') && !log.includes(code), 'the log has the code');
});

test('once joined the browser is asked to keep what is stored', async () => {
  assert.equal(await owner.page.evaluate(() => globalThis.askedToKeep), 1);
  const told = async () => {
    await owner.tap(/All sent/, {});
    await owner.sees('Whether it stays here');
  };
  await told();
  await owner.sees(/This browser keeps what is stored here/);
  // The worker asks the browser itself when it starts, and this one has promised nothing.
  await owner.page.goto(practice.url);
  await owner.sees(/All sent/);
  await told();
  await owner.sees(/This browser may throw away what is stored here/);
  await owner.sees(/In use here: \d+ MB of the [\d,]+ MB/);
  await owner.tap('Ask the browser to keep it');
  await owner.sees(/This browser keeps what is stored here/);
  assert.equal(await owner.page.evaluate(() => globalThis.askedToKeep), 1);
  await owner.page.goto(practice.url);
  await owner.sees('Nobody is here yet');
});

test('whatever people type is shown as it was typed', async () => {
  for (const text of hostile) {
    await owner.tap('Add a person');
    await owner.screen('form');
    await owner.fill('Name', text);
    await owner.tap('Save');
    await owner.sees(text);
    doc = new URL(owner.page.url()).pathname.split('/')[2];
    await isQuiet(text);
    await owner.page.goto(practice.url);
    await owner.sees(text);
    await isQuiet(text);
  }
  await owner.sees(/All sent/);
});

test('a new version is not offered, and does not come, in the middle of a hold', async () => {
  await owner.page.goto(`${practice.url}/p/${doc}`);
  await owner.tap('Ask the safety questions');
  await owner.screen('form');
  const groups = owner.page.getByRole('radiogroup').or(owner.page.getByRole('group'));
  for (let i = await groups.count(); i > 0; i--) {
    await groups.nth(i - 1).getByRole('radio', { name: 'No', exact: true }).check();
  }
  await owner.tap('Save');
  await owner.page.evaluate(() => sessionStorage.setItem('newVersion', '1'));
  await owner.page.goto(`${practice.url}/p/${doc}`);
  const offer = owner.page.locator('.said button');
  await offer.waitFor(); // on a quiet screen it is offered
  await owner.command('digest');
  await owner.tap('Test both sides');
  await owner.screen('test');
  await owner.tap('Get ready');
  await owner.page.locator('.half.next').click();
  const running = owner.page.locator('.half.running');
  await running.waitFor();
  assert.equal(await offer.count(), 0, 'it is offered in the middle of a hold');
  await owner.page.evaluate(() => {
    globalThis.before = true;
    navigator.serviceWorker.dispatchEvent(new Event('controllerchange')); // another tab swapped
  });
  await owner.command('digest'); // an answer draws the page anew
  assert.equal(await owner.page.evaluate(() => globalThis.before), true, 'it reloaded in a hold');
  assert.equal(await running.count(), 1);
  await running.locator('.digits', { hasText: /^[1-9]/ }).waitFor(); // an earlier touch is a bounce
  await running.click();
  await owner.sees('Why did it end?');
  await owner.tap('Gave up');
  await owner.page.waitForFunction(() => globalThis.before === undefined); // after it, it comes
  await owner.sees(/^Rest/);
});

test('every request went to the practice’s own server, and nothing of it was kept', async () => {
  const others = asked.map((request) => new URL(request.url()))
    .filter(({ protocol, origin }) => protocol.startsWith('http') && origin !== practice.url);
  assert.deepEqual(others.map(String), []);
  assert.ok(asked.some((request) => request.url().endsWith('/api/sync')), 'it did sync');
  const kept = await owner.page.evaluate(async () => {
    const names = await caches.keys();
    const requests = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
    return requests.flat().map((request) => new URL(request.url).pathname);
  });
  assert.ok(kept.length > 5);
  assert.deepEqual(kept.filter((path) => path.startsWith('/api/') || path === '/sw.js'), []);
  assert.deepEqual(owner.complaints, []);
});
