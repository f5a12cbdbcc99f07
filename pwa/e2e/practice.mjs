/**
 * A practice to test against: the real server on a folder of its own, and phones in a real browser.
 * The server is bin/evenhold (or EVENHOLD_BIN), the browser CHROMIUM or /usr/bin/chromium.
 */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { freePort } from './port.mjs';

/** Longer than the 30 s after which an open screen asks for news by itself, come what may. */
const patienceMS = 60_000;

export const binary = process.env.EVENHOLD_BIN
  ?? fileURLToPath(new URL('../../bin/evenhold', import.meta.url));

/** The server, which can be killed and started again on the same folder and address. */
export class Practice {
  static async start(...flags) {
    const practice = new Practice();
    practice.folder = await mkdtemp(join(tmpdir(), 'evenhold-'));
    practice.flags = flags;
    const port = await freePort();
    practice.address = `127.0.0.1:${port}`;
    practice.url = `http://localhost:${port}`;
    await practice.run();
    return practice;
  }

  async run() {
    this.said = '';
    this.process = spawn(binary, [
      'serve', '--addr', this.address, '--public-url', this.url,
      '--data', join(this.folder, 'data'), ...this.flags,
    ]);
    for (const stream of [this.process.stdout, this.process.stderr]) {
      stream.on('data', (bytes) => (this.said += bytes));
    }
    for (let tries = 0; tries < 200; tries++) {
      const answer = await fetch(`${this.url}/livez`).catch(() => undefined);
      if (answer?.ok) return;
      await sleep(50);
    }
    throw new Error(`the server did not start:\n${this.said}`);
  }

  /** The links that the server printed. */
  links() {
    return this.said.match(/http:\S+\/join#\S+/g) ?? [];
  }

  setUpLink() {
    return readFile(join(this.folder, 'data', 'setup-link.txt'), 'utf8').then((text) => text.trim());
  }

  async kill(signal = 'SIGKILL') {
    const ended = once(this.process, 'exit');
    this.process.kill(signal);
    await ended;
  }

  async stop() {
    if (this.process.exitCode === null && this.process.signalCode === null) await this.kill('SIGTERM');
    await rm(this.folder, { recursive: true, force: true });
  }
}

/** One phone: a browser context with a page, and what a thumb does on it. */
export class Phone {
  static async open(browser, url, options = {}) {
    const phone = new Phone();
    phone.context = await browser.newContext({
      viewport: { width: 390, height: 844 }, locale: 'en-GB', timezoneId: 'Europe/Berlin', ...options,
    });
    phone.context.setDefaultTimeout(patienceMS);
    phone.complaints = [];
    await phone.load(url);
    return phone;
  }

  async load(url) {
    this.page = await this.context.newPage();
    this.page.on('pageerror', (error) => this.complaints.push(String(error)));
    this.page.on('console', (message) => {
      if (message.type() === 'error' && !/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION|status of (401|410|404|423|429|503)/.test(message.text())) {
        this.complaints.push(message.text());
      }
    });
    await this.page.goto(url);
    await this.screen();
  }

  screen(name) {
    return this.page.waitForSelector(name ? `main[data-screen="${name}"]` : 'main[data-screen]');
  }

  /** Taps the button or link of that name. */
  async tap(name, options = { exact: true }) {
    const target = this.page.getByRole('button', { name, ...options })
      .or(this.page.getByRole('link', { name, ...options })).first();
    await target.click();
  }

  /** Lets the phone in that waits, where this one shows its code. */
  async letIn() {
    await this.sees('Somebody asks to come in');
    await this.tap('Let in');
    await this.sees('The phone was let in.');
  }

  fill(label, text) {
    return this.page.getByLabel(label).first().fill(text);
  }

  /** Chooses an answer of one question. */
  async choose(question, answer) {
    await this.page.getByRole('group', { name: question })
      .getByRole('radio', { name: answer, exact: true }).check();
  }

  /** Waits until the words stand on the screen; else says what stands there. */
  async sees(text) {
    try {
      await this.page.getByText(text).first().waitFor();
    } catch (cause) {
      const shown = await this.page.locator('main').innerText();
      throw new Error(`"${text}" is not on the screen:\n${shown}`, { cause });
    }
  }

  offline(is = true) {
    return this.context.setOffline(is);
  }

  /** A command straight to the core, and its answer. */
  command(name, args = {}) {
    return this.page.evaluate(({ name, args }) => new Promise((done) => {
      const { worker } = globalThis.evenhold;
      const id = 1_000_000 + Math.floor(performance.now() * 1000);
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

  /** The digest of each document that this phone holds. */
  async digests() {
    return (await this.command('digest')).result;
  }

  async ready() {
    await this.page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  }

  /** Kills the page as a phone does that runs out of memory: no handler of the page runs. */
  async crash() {
    await this.page.close({ runBeforeUnload: false });
  }
}

export { sleep };
