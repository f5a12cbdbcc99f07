/**
 * The server under a name of a local network, with its own authority, in a real browser: one that
 * has not taken the authority up, and one that has. Needs certutil (Debian: libnss3-tools).
 */
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const binary = process.env.EVENHOLD_BIN
  ?? fileURLToPath(new URL('../../bin/evenhold', import.meta.url));
const name = 'practice.home.arpa';
const newName = 'clinic.home.arpa';
const waitMS = 45_000;

let folder;
let server;
let said = '';
let port;
let plainPort;
let app;
let plain;
let home; // of the phone that has joined

async function freePort() {
  const probe = createServer().listen(0, '127.0.0.1');
  await once(probe, 'listening');
  const { port } = probe.address();
  probe.close();
  await once(probe, 'close');
  return port;
}

before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'evenhold-lan-'));
  [port, plainPort] = [await freePort(), await freePort()];
  app = `https://${name}:${port}`;
  plain = `http://${name}:${plainPort}/`;
  await serve('--public-url', app);
});

after(async () => {
  await stop();
  await rm(folder, { recursive: true, force: true });
});

/** Starts the server on its folder and waits until it serves. */
async function serve(...flags) {
  said = '';
  server = spawn(binary, ['serve', '--tls', 'own', '--addr', `127.0.0.1:${port}`, '--plain-addr',
    `127.0.0.1:${plainPort}`, '--data', join(folder, 'data'), ...flags]);
  await new Promise((done, fail) => {
    const hear = (bytes) => {
      said += bytes;
      if (said.includes('msg=serving')) done();
    };
    server.stdout.on('data', hear);
    server.stderr.on('data', hear);
    server.on('exit', () => fail(new Error(said)));
  });
}

async function stop() {
  if (server.exitCode !== null) return;
  const ended = once(server, 'exit');
  server.kill('SIGTERM');
  await ended;
}

/** A browser of its own, with a home of its own that knows the certificate or does not. */
async function phone(certificate) {
  home = await mkdtemp(join(folder, 'home-'));
  const store = join(home, '.pki', 'nssdb');
  await mkdir(store, { recursive: true });
  execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
  if (certificate) {
    execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'practice', '-i',
      certificate]);
  }
  return launch();
}

/** The browser of that home, with all that it has kept. */
async function launch() {
  const context = await chromium.launchPersistentContext(join(home, 'profile'), {
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--host-resolver-rules=MAP *.home.arpa 127.0.0.1'],
    env: { ...process.env, HOME: home },
    viewport: { width: 390, height: 844 },
    acceptDownloads: true,
  });
  context.setDefaultTimeout(waitMS);
  return context;
}

test('a phone takes the authority up from the plain page and is a full phone then', async () => {
  const stranger = await phone();
  const certificate = join(folder, 'evenhold.crt');
  try {
    const refused = await stranger.newPage();
    await assert.rejects(refused.goto(app), /ERR_CERT_AUTHORITY_INVALID/);
    await refused.close();
    const page = await stranger.newPage();
    await page.goto(plain);
    await page.getByText('does not trust the server yet').waitFor();
    const shown = (await page.locator('.print').innerText()).split(/\s+/).join(':');
    assert.ok(said.includes(shown), `the page shows ${shown}, the server printed\n${said}`);
    await page.getByText('Android').click();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('details[open] a').click(),
    ]);
    await download.saveAs(certificate);
  } finally {
    await stranger.close();
  }
  const context = await phone(certificate);
  try {
    const page = await context.newPage();
    await page.goto(plain);
    await page.getByText('This phone trusts the server').waitFor();
    await page.locator('a.main').click();
    await page.waitForSelector('main[data-screen]');
    assert.equal(await page.evaluate(() => isSecureContext), true);
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    const cdp = await context.newCDPSession(page);
    const { installabilityErrors } = await cdp.send('Page.getInstallabilityErrors');
    assert.deepEqual(installabilityErrors.map((one) => one.errorId), []);
    await claim(page);
    await context.setOffline(true);
    await page.reload();
    await page.waitForSelector('main[data-screen="list"]');
    const readable = await page.evaluate(() => [localStorage.length, sessionStorage.length,
      document.cookie.length]);
    assert.deepEqual(readable, [0, 0, 0], 'no script can read a token');
  } finally {
    await context.close();
  }
  const lying = await bytesOf(join(home, 'profile', 'Default', 'IndexedDB'));
  assert.ok(holds(lying, 'evenhold'), 'these are the files of the storage');
  for (const entered of ['Robin', 'Example Practice']) assert.ok(!holds(lying, entered), entered);
});

async function bytesOf(path) {
  const files = await readdir(path, { recursive: true, withFileTypes: true });
  const found = files.filter((one) => one.isFile()).map((one) => join(one.parentPath, one.name));
  return Buffer.concat(await Promise.all(found.map((one) => readFile(one))));
}

/** Whether the bytes hold a text in one of the forms that a browser stores texts in. */
function holds(bytes, text) {
  const wide = Buffer.from(text, 'utf16le');
  return [Buffer.from(text), wide, Buffer.from(wide).swap16()].some((one) => bytes.includes(one));
}

/** Claims the practice by the set-up link: cookie, sync and socket work under this name. */
async function claim(page) {
  const link = await readFile(join(folder, 'data', 'setup-link.txt'), 'utf8');
  assert.ok(link.startsWith(`${app}/join#`));
  const live = page.waitForEvent('websocket');
  await page.goto(link.trim());
  await page.getByLabel('Name of the practice').fill('Example Practice');
  await page.getByLabel('Your name').fill('Robin Example');
  await page.getByRole('button', { name: 'Join', exact: true }).click();
  await page.getByText('All sent').first().waitFor();
  assert.ok((await live).url().startsWith('wss://'));
}

/** Waits until the words stand on the screen; else says what stands there. */
async function sees(page, text) {
  try {
    await page.getByText(text).first().waitFor();
  } catch (cause) {
    const shown = await page.innerText('body');
    throw new Error(`"${text}" is not on ${page.url()}:\n${shown}`, { cause });
  }
}

async function add(page, person) {
  await page.getByRole('button', { name: 'Add a person', exact: true })
    .or(page.getByRole('link', { name: 'Add a person', exact: true })).first().click();
  await page.getByLabel('Name').first().fill(person);
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await sees(page, person);
}

test('the server takes another name: a phone sends under the old one and joins anew', async () => {
  await stop();
  const context = await launch();
  try {
    const page = await context.newPage();
    await page.goto(app);
    await add(page, 'Ama Example');
    assert.doesNotMatch(await page.locator('main').innerText(), /All sent/);
    const renamed = `https://${newName}:${port}`;
    // Without the old name in --origins the certificate does not name it: nothing goes out.
    await serve('--public-url', renamed);
    assert.match(said, /phones joined under another public URL/);
    await assert.rejects(page.evaluate(() => fetch('/readyz')), /Failed to fetch/);
    await stop();
    await serve('--public-url', renamed, '--origins', app);
    assert.doesNotMatch(said, /another public URL/);
    await page.goto(app);
    await sees(page, 'Ama Example'); // not only the view of before, which is painted first
    await sees(page, 'All sent');
    const link = invite();
    assert.ok(link.startsWith(`${renamed}/join#`), link);
    await page.goto(link);
    await page.getByRole('button', { name: 'Join', exact: true }).click();
    await sees(page, 'Ama Example');
    await sees(page, 'All sent');
    await add(page, 'Ben Example');
    await sees(page, 'All sent');
    // The store under the old name is another one; it is whole, and goes on as well.
    await page.goto(app);
    await sees(page, 'Ben Example');
    await sees(page, 'Ama Example');
  } finally {
    await context.close();
  }
});

/** The link of a further phone of the owner, as the command makes it. */
function invite() {
  const text = execFileSync(binary, ['invite', '--role', 'owner', '--data', join(folder, 'data')],
    { encoding: 'utf8' });
  return text.match(/https:\S+/)[0];
}
