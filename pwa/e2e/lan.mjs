/**
 * The server under a name or address of a local network, with its own authority, and browsers that
 * have taken that authority up or have not. Needs certutil (Debian: libnss3-tools).
 */
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { freePort } from './port.mjs';

export const binary = process.env.EVENHOLD_BIN
  ?? fileURLToPath(new URL('../../bin/evenhold', import.meta.url));
const waitMS = 45_000;

export class LAN {
  /** A server that phones find as `host`: at `app` over https, its plain page at `plain`. */
  static async start(host) {
    const lan = new LAN();
    lan.folder = await mkdtemp(join(tmpdir(), 'evenhold-lan-'));
    lan.data = join(lan.folder, 'data');
    [lan.port, lan.plainPort] = [await freePort(), await freePort()];
    lan.app = `https://${host}:${lan.port}`;
    lan.plain = `http://${host}:${lan.plainPort}/`;
    await lan.serve('--public-url', lan.app);
    return lan;
  }

  /** Starts the server on its folder and waits until it serves; `said` is what it printed. */
  async serve(...flags) {
    this.said = '';
    this.server = spawn(binary, ['serve', '--tls', 'own', '--addr', `127.0.0.1:${this.port}`,
      '--plain-addr', `127.0.0.1:${this.plainPort}`, '--data', this.data, ...flags]);
    await new Promise((done, fail) => {
      const hear = (bytes) => {
        this.said += bytes;
        if (this.said.includes('msg=serving')) done();
      };
      this.server.stdout.on('data', hear);
      this.server.stderr.on('data', hear);
      this.server.on('exit', () => fail(new Error(this.said)));
    });
  }

  async stop() {
    if (this.server.exitCode !== null) return;
    const ended = once(this.server, 'exit');
    this.server.kill('SIGTERM');
    await ended;
  }

  async remove() {
    await this.stop();
    await rm(this.folder, { recursive: true, force: true });
  }

  async setUpLink() {
    return (await readFile(join(this.data, 'setup-link.txt'), 'utf8')).trim();
  }

  /** Where the server's own certificate is, for a browser to trust. */
  async certificate() {
    const path = join(this.folder, 'authority.crt');
    const given = await fetch(`http://127.0.0.1:${this.plainPort}/evenhold.crt`);
    await writeFile(path, Buffer.from(await given.arrayBuffer()));
    return path;
  }

  /** A browser of its own, with a home of its own that knows the certificate or does not. */
  async browser(certificate) {
    this.home = await mkdtemp(join(this.folder, 'home-'));
    const store = join(this.home, '.pki', 'nssdb');
    await mkdir(store, { recursive: true });
    execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
    if (certificate) {
      execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'practice', '-i',
        certificate]);
    }
    return this.again();
  }

  /** The browser of the latest home, with all that it has kept. */
  async again() {
    const context = await chromium.launchPersistentContext(join(this.home, 'profile'), {
      executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
      args: ['--no-sandbox', '--host-resolver-rules=MAP *.home.arpa 127.0.0.1'],
      env: { ...process.env, HOME: this.home },
      viewport: { width: 390, height: 844 },
      acceptDownloads: true,
    });
    context.setDefaultTimeout(waitMS);
    return context;
  }
}
