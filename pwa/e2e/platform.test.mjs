/**
 * What the phone does by itself, in a real browser: starts, starts without a network, stores before
 * it answers, keeps to one writing tab, swaps versions only when told to. Runs against
 * EVENHOLD_URL, or against the built app alone. The browser is CHROMIUM or /usr/bin/chromium.
 */
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { after, afterEach, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { serve } from './serve.mjs';

let browser;
let alone;
let url;
let contexts = [];

before(async () => {
  alone = process.env.EVENHOLD_URL ? undefined : await serve();
  url = process.env.EVENHOLD_URL ?? alone.url;
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox'],
  });
});

afterEach(async () => {
  await Promise.all(contexts.map((context) => context.close()));
  contexts = [];
});

after(async () => {
  await browser?.close();
  await alone?.stop();
});

async function phone(options = {}) {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, ...options });
  contexts.push(context);
  return context;
}

/** Opens the app and waits for a screen; keeps what the browser complained about. */
async function open(context, path = '/', base = url) {
  const page = await context.newPage();
  page.complaints = [];
  page.on('pageerror', (error) => page.complaints.push(String(error)));
  page.on('console', (message) => {
    // The server of these tests may have no practice: its refusals are expected.
    const expected = /50[0-9]|401/.test(message.text());
    if (message.type() === 'error' && !expected) page.complaints.push(message.text());
  });
  await page.goto(base + path);
  await screen(page);
  return page;
}

function screen(page, name) {
  return page.waitForSelector(name ? `main[data-screen="${name}"]` : 'main[data-screen]');
}

/** Waits until the core itself has answered: from then on commands are answered at once. */
function command(page, name, args = {}) {
  return page.evaluate(({ name, args }) => new Promise((done) => {
    const { worker } = globalThis.evenhold;
    const id = 1_000_000 + Math.floor(performance.now());
    const hear = ({ data }) => {
      if (data.kind !== 'answer' || data.id !== id) return;
      worker.removeEventListener('message', hear);
      done(data.answer);
    };
    worker.addEventListener('message', hear);
    const at = { wallMS: Date.now(), monoMS: performance.now() | 0, run: 'test' };
    worker.postMessage({ kind: 'command', id, do: name, args, at });
  }), { name, args });
}

/** One row of the phone's storage. */
function row(page, store, key) {
  return page.evaluate(({ store, key }) => new Promise((done, fail) => {
    const request = indexedDB.open('evenhold');
    request.onerror = () => fail(request.error);
    request.onsuccess = () => {
      const db = request.result;
      const get = db.transaction(store).objectStore(store).get(key);
      get.onsuccess = () => {
        db.close();
        done(get.result);
      };
    };
  }), { store, key });
}

async function ready(page) {
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await command(page, 'digest');
}

const dark = { values: { lang: '', scheme: 'dark' } };

test('the app starts, and the browser has nothing to complain about', async () => {
  const page = await open(await phone());
  await ready(page);
  assert.deepEqual(page.complaints, []);
  assert.equal(await page.locator('.first-word').count(), 0, 'the placeholder makes room');
  const face = () => document.fonts.check('17px "Atkinson Hyperlegible Next"');
  assert.equal(await page.evaluate(face), true);
});

test('it starts again with no network, at any address', async () => {
  const context = await phone();
  const page = await open(context);
  await ready(page);
  await context.setOffline(true);
  await page.reload();
  await screen(page);
  assert.ok((await command(page, 'digest')).error === undefined);
  const other = await context.newPage();
  await page.close();
  await other.goto(`${url}/sync`);
  await screen(other);
});

test('only the app itself is kept for offline use, nothing of the server', async () => {
  const page = await open(await phone());
  await ready(page);
  const kept = await page.evaluate(async () => {
    const names = await caches.keys();
    const requests = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
    return requests.flat().map((request) => new URL(request.url).pathname);
  });
  assert.ok(kept.includes('/index.html'));
  assert.ok(kept.some((path) => /^\/assets\/core\..*\.wasm$/.test(path)));
  assert.deepEqual(kept.filter((path) => path.startsWith('/api/') || path === '/sw.js'), []);
});

test('an answer comes after the write; a page killed right then has lost nothing', async () => {
  const context = await phone();
  const page = await open(context);
  await ready(page);
  const answer = await command(page, 'prefs', dark);
  assert.equal(answer.error, undefined);
  assert.ok((await row(page, 'meta', 'prefs')).box, 'the row is stored, and sealed');
  await page.close({ runBeforeUnload: false });
  const again = await open(context);
  const { view } = await command(again, 'go', { route: '/' });
  assert.equal(view.prefs.scheme, 'dark', 'the core knows it too');
});

test('the first screen is drawn before the core is there', async () => {
  const context = await phone({ serviceWorkers: 'block' });
  const page = await open(context);
  await command(page, 'prefs', dark);
  await context.route('**/assets/core.*', () => undefined); // never comes
  await page.reload();
  await screen(page);
  await page.waitForSelector('html[data-scheme="dark"]');
});

test('one tab writes; the work can be moved to another and back', async () => {
  const context = await phone();
  const first = await open(context);
  await ready(first);
  const second = await open(context);
  await screen(second, 'notice');
  await second.waitForSelector('main[data-place^="second-tab"]');
  await second.click('main[data-place^="second-tab"] button');
  await first.waitForSelector('main[data-place^="moved"]');
  await second.waitForSelector('main[data-place^="/"]');
  assert.equal((await command(second, 'prefs', dark)).error, undefined);
  assert.equal((await command(first, 'prefs', dark)).error.code, 'moved');
  await first.click('main[data-place^="moved"] button');
  await second.waitForSelector('main[data-place^="moved"]');
  await first.waitForSelector('html[data-scheme="dark"] main[data-place^="/"]');
});

test('a second tab takes over by itself when the first is closed', async () => {
  const context = await phone();
  const first = await open(context);
  await ready(first);
  const second = await open(context);
  await second.waitForSelector('main[data-place^="second-tab"]');
  await first.close();
  await second.waitForSelector('main[data-place^="/"]');
});

test('a reload is not taken for a second tab', async () => {
  const page = await open(await phone());
  await ready(page);
  await page.reload();
  await screen(page);
  assert.equal((await command(page, 'prefs', dark)).error, undefined);
});

test('a new version waits until it is wanted', async () => {
  const changed = new Map();
  const site = await serve(changed);
  try {
    const page = await open(await phone(), '/', site.url);
    await ready(page);
    await page.reload(); // now under the first version
    await screen(page);
    const sw = await readFile(new URL('../dist/sw.js', import.meta.url), 'utf8');
    changed.set('sw.js', `${sw}\n// newer`);
    await page.evaluate(() => {
      globalThis.before = true;
      return navigator.serviceWorker.ready.then((one) => one.update()).then(() => undefined);
    });
    const offer = page.locator('.said button');
    await offer.waitFor();
    assert.equal(await page.evaluate(() => globalThis.before), true, 'nothing reloads by itself');
    await offer.click();
    await page.waitForFunction(() => globalThis.before === undefined);
    await screen(page);
  } finally {
    await site.stop();
  }
});

test('the core that cannot be fetched is said in words, and nothing is lost', async () => {
  const context = await phone({ serviceWorkers: 'block' });
  await context.route('**/assets/core.*', (route) => route.fulfill({ status: 500 }));
  const page = await context.newPage();
  await page.goto(url);
  await page.waitForSelector('main[data-place^="stopped"]');
});
