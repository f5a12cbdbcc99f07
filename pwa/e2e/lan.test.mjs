/**
 * The server under a name of a local network, with its own authority, in a real browser: one that
 * has not taken the authority up, and one that has.
 */
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { binary, LAN } from './lan.mjs';

const newName = 'clinic.home.arpa';

let lan;
let app;

before(async () => {
  lan = await LAN.start('practice.home.arpa');
  ({ app } = lan);
});

after(() => lan?.remove());

test('a phone takes the authority up from the plain page and is a full phone then', async () => {
  const stranger = await lan.browser();
  const certificate = join(lan.folder, 'evenhold.crt');
  try {
    const refused = await stranger.newPage();
    await assert.rejects(refused.goto(app), /ERR_CERT_AUTHORITY_INVALID/);
    await refused.close();
    const page = await stranger.newPage();
    await page.goto(lan.plain);
    await page.getByText('does not trust the server yet').waitFor();
    const shown = (await page.locator('.print').innerText()).split(/\s+/).join(':');
    assert.ok(lan.said.includes(shown), `the page shows ${shown}, the server printed\n${lan.said}`);
    await page.getByText('Android').click();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('details[open] a').click(),
    ]);
    await download.saveAs(certificate);
  } finally {
    await stranger.close();
  }
  const context = await lan.browser(certificate);
  try {
    const page = await context.newPage();
    await page.goto(lan.plain);
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
  const lying = await bytesOf(join(lan.home, 'profile', 'Default', 'IndexedDB'));
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
  const link = await lan.setUpLink();
  assert.ok(link.startsWith(`${app}/join#`));
  const live = page.waitForEvent('websocket');
  await page.goto(link);
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
  await lan.stop();
  const context = await lan.again();
  try {
    const page = await context.newPage();
    await page.goto(app);
    await add(page, 'Ama Example');
    assert.doesNotMatch(await page.locator('main').innerText(), /All sent/);
    const renamed = `https://${newName}:${lan.port}`;
    // Without the old name in --origins the certificate does not name it: nothing goes out.
    await lan.serve('--public-url', renamed);
    assert.match(lan.said, /phones joined under another public URL/);
    await assert.rejects(page.evaluate(() => fetch('/readyz')), /Failed to fetch/);
    await lan.stop();
    await lan.serve('--public-url', renamed, '--origins', app);
    assert.doesNotMatch(lan.said, /another public URL/);
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
  const text = execFileSync(binary, ['invite', '--role', 'owner', '--data', lan.data],
    { encoding: 'utf8' });
  return text.match(/https:\S+/)[0];
}
