/**
 * Checks every state of every screen in a browser: no violation of WCAG 2.2 A and AA that
 * axe-core (Deque Systems, open source) can find, contrast of 7:1 in a session, targets of a size
 * for wet thumbs, no sideways scrolling and nothing cut off at 320 px and at 200 % text.
 */
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, test } from 'node:test';
import { build, names, open, show } from './browser.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const levels = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
let browser;
let address;
let all;

before(async () => {
  address = build();
  browser = await open();
  const page = await browser.newPage();
  all = await names(page, address);
  await page.close();
});
after(() => browser.close());

/** Runs `check` on a page for each state and gathers what it finds, so that one run tells all. */
async function eachState(how, check) {
  const page = await browser.newPage({
    viewport: { width: how.width ?? 390, height: how.height ?? 844 },
    reducedMotion: 'reduce',
  });
  const found = [];
  await show(page, address, { ...how, state: '' });
  for (const state of all) {
    await page.evaluate((name) => globalThis.draw(name), state);
    for (const fault of await check(page, state)) found.push(`${state}: ${fault}`);
  }
  await page.close();
  assert.deepEqual(found, []);
}

async function violations(page, state) {
  await page.evaluate(axe);
  const isSession = /^work-(?!plan)|^test-(?!result)/.test(state);
  const result = await page.evaluate(({ levels, isSession }) => globalThis.axe.run({
    runOnly: { type: 'tag', values: levels },
    rules: isSession ? { 'color-contrast-enhanced': { enabled: true } } : {},
  }), { levels, isSession });
  const looked = result.passes.map((pass) => pass.id);
  const contrast = isSession ? 'color-contrast-enhanced' : 'color-contrast';
  assert.ok(looked.includes(contrast), `axe-core looked at the contrast of ${state}`);
  return result.violations.flatMap((v) =>
    v.nodes.map((n) => `${v.id} ${n.target.join(' ')} ${n.failureSummary.split('\n')[1] ?? ''}`));
}

/** WCAG 2.2 (2023), SC 2.5.8 asks for 24 px; wet thumbs and eyes on the athlete for more. */
function smallTargets() {
  const session = document.querySelector('.session');
  const least = session ? 64 : 48;
  const targets = [...document.querySelectorAll('button, a, .option, summary')];
  const boxes = targets.map((e) => [e, e.getBoundingClientRect()]);
  const named = (e) => `${e.className} "${e.textContent.slice(0, 20)}"`;
  const found = [];
  for (const [e, box] of boxes) {
    const main = session && e.matches('.act.main') ? 96 : least;
    const short = Math.min(box.height, e.matches('.scale .option') && !session ? 48 : box.width);
    if (box.height < main - 0.5 || short < Math.min(least, 48) - 0.5 || (session && short < 63.5)) {
      found.push(`${named(e)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
    }
  }
  if (!session) return found;
  for (const [a, p] of boxes) {
    for (const [b, q] of boxes) {
      if (a === b || a.matches('.option, .half') || b.matches('.option, .half')) continue;
      const gap = Math.max(q.left - p.right, p.left - q.right, q.top - p.bottom, p.top - q.bottom);
      if (gap < 15.5) found.push(`${named(a)} is ${Math.round(gap)} px from ${named(b)}`);
    }
  }
  return found;
}

/** What is wider than the window, or than the box it stands in. */
function overflows() {
  const found = [];
  const root = document.documentElement;
  if (root.scrollWidth > root.clientWidth) found.push(`scrolls to ${root.scrollWidth} px`);
  for (const e of document.querySelectorAll('#app *')) {
    if (e.closest('svg, .unseen') || e.matches('input')) continue;
    const box = e.getBoundingClientRect();
    if (box.width > 0 && (box.right > root.clientWidth + 1 || box.left < -1)) {
      found.push(`${e.tagName} ${e.className} ends at ${Math.round(box.right)} px`);
    }
    const holdsWords = e.matches('button, a, p, h1, h2, .face, .note') && e.clientWidth > 0;
    if (holdsWords && e.scrollWidth > e.clientWidth + 2) found.push(`${e.tagName} ${e.className} cuts its words`);
  }
  return found;
}

for (const how of [{}, { scheme: 'dark' }, { lang: 'ar' }, { lang: 'ar', scheme: 'dark' }]) {
  test(`axe finds nothing: ${JSON.stringify(how)}`, () => eachState(how, violations));
}

// In a window so tall that what sticks to its end covers nothing.
for (const how of [{ height: 2400 }, { width: 320, height: 2400 }, { lang: 'ar', height: 2400 }]) {
  test(`targets are large and far enough apart: ${JSON.stringify(how)}`, () =>
    eachState(how, (page) => page.evaluate(smallTargets)));
}

const tight = [
  { width: 320, height: 640 },
  { text: 200 },
  { width: 320, height: 640, lang: 'pseudo' },
  { lang: 'pseudo', text: 200 },
  { lang: 'ar' },
  { width: 844, height: 390 },
];
for (const how of tight) {
  test(`nothing is cut off: ${JSON.stringify(how)}`, () =>
    eachState(how, (page) => page.evaluate(overflows)));
}

test('every word is known', () => eachState({}, (page) => page.evaluate(() => globalThis.missing)));

function still(width) {
  return browser.newPage({ viewport: { width, height: 844 }, reducedMotion: 'reduce' });
}

test('time is large: 96 px at least for three figures at 390 px', async () => {
  const page = await still(390);
  for (const state of ['test-running', 'test-runningLong', 'work-hold']) {
    await show(page, address, { state });
    const size = await page.evaluate(() => {
      const style = getComputedStyle(document.querySelector('.running .digits'));
      return { px: parseFloat(style.fontSize), weight: Number(style.fontWeight) };
    });
    assert.ok(size.px >= 96, `${state}: ${size.px} px`);
    assert.ok(size.weight >= 600);
  }
  await page.close();
});

test('left of the body stays left on the screen in a language read from the right', async () => {
  const page = await still(320);
  for (const lang of ['en', 'ar']) {
    await show(page, address, { state: 'test-running', lang });
    const at = await page.evaluate(() => ['l', 'r'].map((side) =>
      document.querySelector(`.half.${side}`).getBoundingClientRect().left));
    assert.ok(at[0] < at[1], lang);
    await show(page, address, { state: 'test-result', lang });
    const bars = await page.evaluate(() => ['l', 'r'].map((side) =>
      document.querySelector(`.hold-bars .bar.${side}`).getBoundingClientRect()));
    assert.ok(Math.abs(bars[0].right - bars[1].left) < 1, 'both grow from the line');
    assert.ok(bars[0].left < bars[1].left, lang);
  }
  await page.close();
});
