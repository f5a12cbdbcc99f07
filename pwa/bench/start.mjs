/**
 * Measures cold offline starts in a real browser: `node start.mjs <server program>`. Joins an
 * example practice as the coach, stops the server, goes offline, and opens the app beside an empty
 * page with the same worker start, at full speed and slowed. Prints one JSON object.
 *
 * Cold: no page, no renderer and no service worker of the app is running, as after the phone has
 * thrown it out. Times are milliseconds since the start of the navigation.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { chromium } from 'playwright-core';
import { calibrate } from './calibrate.mjs';
import { serveEmpty } from './empty.mjs';
import { prepareSlowdown } from './slowdown.mjs';

const rounds = 5;
const slowed = 4;
const patienceMS = 60_000;

const folder = mkdtempSync(join(tmpdir(), 'evenhold-start-'));
const slowdown = prepareSlowdown();
let practice;
let context;
try {
  practice = await serve(process.argv[2]);
  const empty = await serveEmpty();
  context = await chromium.launchPersistentContext(join(folder, 'profile'), {
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox'],
    viewport: { width: 390, height: 844 },
  });
  context.setDefaultTimeout(patienceMS);
  await context.addInitScript(watch);
  await installEmpty(empty.url);
  const rows = await joinPractice(practice.link);
  await practice.stop();
  await empty.stop();
  await context.setOffline(true);
  const stopWorkers = await serviceWorkerStopper();
  const start = (url) => measureStart(url, stopWorkers);
  const app = new URL('/', practice.link).href;
  await start(empty.url); // the first ones warm the disk
  await start(app);
  const speeds = [];
  for (const times of [1, slowed]) {
    const { page, worker } = times === 1 ? {} : await calibrate(context, slowdown, times);
    const samples = { app: [], empty: [] };
    while (samples.app.length < rounds) {
      const pair = { empty: await start(empty.url), app: await start(app) };
      samples.empty.push(pair.empty);
      samples.app.push(pair.app);
    }
    await slowdown.set(1);
    speeds.push({ times, page, worker, ...samples });
  }
  console.log(JSON.stringify({ browser: context.browser()?.version() ?? '', rows, speeds }));
} finally {
  await slowdown.end();
  await context?.close();
  await practice?.stop();
  rmSync(folder, { recursive: true, force: true });
}

/** Starts the server on a fresh example practice; answers the coach's link and how to stop it. */
async function serve(program) {
  const port = await freePort();
  const child = spawn(program, [
    'serve', '--demo', '--data', join(folder, 'data'), '--addr', `127.0.0.1:${port}`,
    '--public-url', `http://localhost:${port}`,
  ], { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  child.stderr.on('data', (text) => {
    said = (said + text).slice(-4000);
  });
  const ended = new Promise((done) => child.once('exit', done));
  const link = await new Promise((done, fail) => {
    createInterface(child.stdout).on('line', (line) => {
      const coach = /as the coach:\s+(\S+)/.exec(line);
      if (coach) done(coach[1]);
    });
    ended.then(() => fail(new Error(`the server ended before it gave a link: ${said}`)));
  });
  return {
    link,
    stop: () => {
      child.kill('SIGTERM');
      return ended;
    },
  };
}

async function freePort() {
  const server = createServer();
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  const { port } = server.address();
  await new Promise((done) => server.close(done));
  return port;
}

/** Runs first in each page: notes when a list row is on the screen and when the worker answers. */
function watch() {
  const marks = {};
  globalThis.marks = marks;
  const observer = new MutationObserver(() => {
    if (!document.querySelector('.row-item')) return;
    observer.disconnect();
    requestAnimationFrame(() => {
      // A message sent in a frame arrives when the frame is done.
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => {
        marks.paintedMS = performance.now();
      };
      port2.postMessage(0);
    });
  });
  observer.observe(document, { childList: true, subtree: true });
  let boot;
  Object.defineProperty(globalThis, 'evenhold', {
    get: () => boot,
    set: (given) => {
      boot = given;
      boot.worker.addEventListener('message', ({ data }) => {
        if (data.kind !== 'answer' || marks.answeredMS !== undefined) return;
        marks.answeredMS = performance.now();
        if (data.answer.error) marks.error = data.answer.error.code;
      });
    },
  });
}

async function installEmpty(url) {
  const page = await context.newPage();
  await page.goto(url);
  await page.waitForFunction(() => navigator.serviceWorker.ready.then(() => true));
  await page.close();
}

/** Joins through the link and waits until all is fetched; answers how many people are listed. */
async function joinPractice(link) {
  const page = await context.newPage();
  await page.goto(link);
  const go = page.locator('form button[type=submit]');
  await go.waitFor();
  for (const input of await page.locator('form input[type=text]').all()) {
    if (!(await input.inputValue())) await input.fill('Bench Coach');
  }
  await go.click();
  await page.waitForSelector('.row-item');
  await page.waitForFunction(() => navigator.serviceWorker.ready.then(() => true));
  let rows = 0;
  for (let quiet = 0; quiet < 3; quiet++) { // three seconds without a change
    await page.waitForTimeout(1000);
    const now = await page.locator('.row-item').count();
    if (now !== rows) quiet = -1;
    rows = now;
  }
  await page.close();
  return rows;
}

/** Ends all service workers of the profile, so that a start has to start them. */
async function serviceWorkerStopper() {
  const page = context.pages()[0] ?? (await context.newPage());
  const session = await context.newCDPSession(page);
  await session.send('ServiceWorker.enable');
  return () => session.send('ServiceWorker.stopAllWorkers');
}

async function measureStart(url, stopWorkers) {
  await stopWorkers();
  const page = await context.newPage();
  try {
    await page.goto(url, { waitUntil: 'commit' });
    await page.waitForFunction(
      () => globalThis.marks.paintedMS !== undefined && globalThis.marks.answeredMS !== undefined,
      undefined, { polling: 100 },
    );
    const { paintedMS, answeredMS, error } = await page.evaluate(() => globalThis.marks);
    if (error) throw new Error(`the core answered with the error ${error}`);
    return { paintedMS, answeredMS };
  } finally {
    await page.close();
  }
}
