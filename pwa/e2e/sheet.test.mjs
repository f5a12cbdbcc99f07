/**
 * The sheet for the wall as paper: a real browser prints it on A4 and Letter (ISO 216 and ANSI/ASME
 * Y14.1), and poppler, which knows nothing of us, draws it. The square codes are found on that
 * picture by their finders, and in the long run read by zbar.
 */
import assert from 'node:assert/strict';
import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { binary, Practice } from './practice.mjs';

const app = 'https://a-rather-long-name-of-a-practice.home.arpa:8420';
const plain = 'http://a-rather-long-name-of-a-practice.home.arpa:8421/';
const own = ['--tls', 'own', '--public-url', app];
/** As long as a name may be. */
const name = 'The Riverside Practice for Strength, Balance and Endurance of the Trunk, and for '
  + 'Long Walks Besides';
const scans = spawnSync('zbarimg', ['--version']).status === 0;

let browser;
let practice;

before(async () => {
  practice = await Practice.start();
  const claim = { code: new URL(await practice.setUpLink()).hash.slice(1), device: '0000000000001',
    name: 'Robin Example', practice: name };
  const answer = await fetch(`${practice.url}/api/join`, { method: 'POST',
    headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(claim) });
  assert.equal(answer.status, 200);
  await practice.kill('SIGTERM');
  // A start with a certificate of its own makes that; the sheet then needs no server.
  const server = spawn(binary, ['serve', ...own, '--addr', practice.address, '--plain-addr',
    '127.0.0.1:0', '--data', join(practice.folder, 'data')]);
  let said = '';
  await new Promise((done, fail) => {
    server.stderr.on('data', (bytes) => {
      said += bytes;
      if (said.includes('msg=serving')) done();
    });
    server.on('exit', () => fail(new Error(said)));
  });
  const ended = once(server, 'exit');
  server.kill('SIGTERM');
  await ended;
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
});

after(async () => {
  await browser?.close();
  await practice?.stop();
});

/** Without spaces and hyphens, which go where a line is broken, and what turns the direction. */
const bare = (text) => text.replaceAll(/[\s\p{Cf}-]+/gu, '');

/** Pixels in a millimetre of the picture. */
const scale = 6;

/** The rows of a printed page, one byte a pixel: 0 is black. */
function pixels(pdf) {
  const picture = execFileSync('pdftoppm', ['-r', String(25.4 * scale), '-gray', pdf],
    { maxBuffer: 1 << 26 });
  const head = picture.subarray(0, 40).toString('latin1').match(/^P5\s+(\d+)\s+(\d+)\s+255\s/);
  const width = Number(head[1]);
  return Array.from({ length: Number(head[2]) }, (_, y) => picture
    .subarray(head[0].length + y * width, head[0].length + (y + 1) * width));
}

/** Where a row has dark and light pieces of 1:1:3:1:1, as the finders of a QR code do. */
function finders(row) {
  const edges = [];
  for (let x = 1; x < row.length; x++) if ((row[x] < 128) !== (row[x - 1] < 128)) edges.push(x);
  const found = [];
  for (let i = 0; i + 5 < edges.length; i++) {
    const [from, to] = [edges[i], edges[i + 5]];
    const module = (to - from) / 7;
    const fits = [1, 1, 3, 1, 1].every((parts, k) => Math.abs(edges[i + k + 1] - edges[i + k]
      - parts * module) < module / 3);
    if (row[from] < 128 && fits) found.push({ from, to, module });
  }
  return found;
}

/** The width of each code in mm: the middle of its two upper finders is three modules high. */
function codeWidths(rows) {
  const widths = [];
  let run = 0;
  let before = '';
  for (const row of rows) {
    const [left, right, ...more] = finders(row);
    const isTop = right && more.length === 0;
    const place = isTop ? `${left.from} ${right.to}` : '';
    run = place !== '' && place === before ? run + 1 : 1;
    before = place;
    if (isTop && run === Math.round(2.5 * left.module)) widths.push((right.to - left.from) / scale);
  }
  return widths;
}

test('one page of A4 or Letter, codes of 30 mm, the addresses in words', async () => {
  for (const [language, format] of [['en', 'A4'], ['en', 'Letter'], ['ar', 'Letter']]) {
    const html = join(practice.folder, `${language}-${format}.html`);
    execFileSync(binary, ['sheet', '--language', language, '--out', html, '--plain-addr', ':8421',
      '--data', join(practice.folder, 'data')]);
    const page = await browser.newPage();
    const asked = [];
    page.on('request', (request) => asked.push(request.url()));
    await page.goto(pathToFileURL(html).href);
    const pdf = join(practice.folder, `${language}-${format}.pdf`);
    await page.pdf({ path: pdf, format });
    await page.close();
    assert.deepEqual(asked, [pathToFileURL(html).href], 'it needs nothing from elsewhere');
    assert.match(execFileSync('pdfinfo', [pdf], { encoding: 'utf8' }), /Pages:\s+1\n/);
    const text = bare(execFileSync('pdftotext', [pdf, '-'], { encoding: 'utf8' }));
    for (const words of [app, plain, name]) {
      assert.ok(text.includes(bare(words)), `${language} on ${format}: ${words} in ${text}`);
    }
    const widths = codeWidths(pixels(pdf));
    assert.equal(widths.length, 2, `two codes, not ${widths}`);
    for (const width of widths) assert.ok(width >= 30 && width < 60, `${width} mm on ${format}`);
    if (scans) {
      const png = pdf.replace('.pdf', '');
      execFileSync('pdftoppm', ['-r', '150', '-png', '-singlefile', pdf, png]);
      const read = execFileSync('zbarimg', ['-q', '--raw', `${png}.png`],
        { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
      assert.deepEqual(read.trim().split('\n').sort(), [plain, app]);
    }
  }
});
