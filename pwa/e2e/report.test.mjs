/**
 * The report of a person as paper: a real browser prints it on A4 and Letter (ISO 216 and
 * ANSI/ASME Y14.1), and poppler, which knows nothing of us, reads it back.
 */
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { Phone, Practice } from './practice.mjs';

const person = 'Ama K.';
let browser;
let practice;
let coach;
let folder;

before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'evenhold-print-'));
  practice = await Practice.start('--demo');
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
  coach = await Phone.open(browser, practice.links()[0]);
  await coach.tap('Join');
  await coach.sees(person);
  await coach.sees(/All sent/);
});

after(async () => {
  await browser?.close();
  await practice?.stop();
  await rm(folder, { recursive: true, force: true });
});

/** Without spaces and hyphens: lines are broken elsewhere on paper, and there a hyphen may go. */
const bare = (text) => text.replaceAll(/[\s-]+/g, '');

test('the report of a person opens from their page', async () => {
  await coach.page.getByRole('link', { name: person }).first().click();
  await coach.tap('Report to print');
  await coach.sees('Where it comes from');
  await coach.sees('Print or share');
});

for (const [format, widthPt, heightPt] of [['A4', 595, 842], ['Letter', 612, 792]]) {
  test(`on ${format} it is one page with every row, and nothing to touch`, async () => {
    const lines = await coach.page.locator('h1, h2, .sentence > *, .row em, .section > .small')
      .allInnerTexts();
    assert.ok(lines.length > 60, `${lines.length} lines`);
    const file = join(folder, `${format}.pdf`);
    await coach.page.pdf({ path: file, format });
    const info = execFileSync('pdfinfo', [file], { encoding: 'utf8' });
    assert.match(info, /Pages:\s+1\n/);
    const [, width, height] = info.match(/Page size:\s+([\d.]+) x ([\d.]+)/).map(Number);
    assert.ok(Math.abs(width - widthPt) < 2 && Math.abs(height - heightPt) < 2, info);
    const paper = bare(execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' }));
    assert.deepEqual(lines.filter((line) => !paper.includes(bare(line))), []);
    for (const screenOnly of ['Print or share', 'All sent', 'Show the working']) {
      assert.ok(!paper.includes(bare(screenOnly)), screenOnly);
    }
    assert.match(paper, /AmaK\./);
    assert.match(paper, /leftelbowdown,worksleftside/);
  });
}

test('nothing was complained of', () => assert.deepEqual(coach.complaints, []));
