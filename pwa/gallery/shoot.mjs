/**
 * Takes a picture of every state in every manner and puts them on sheets of eight to look at:
 * node gallery/shoot.mjs [manner [state...]]
 */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { build, names, open, shots, show } from './browser.mjs';

const manners = {
  light: {},
  dark: { scheme: 'dark' },
  large: { text: 200 },
  arabic: { lang: 'ar' },
  pseudo: { lang: 'pseudo' },
  narrow: { width: 320, height: 640 },
  landscape: { width: 844, height: 390 },
  wide: { width: 1280, height: 800 },
  forced: { forced: true },
};

const [only, ...some] = process.argv.slice(2);
const address = build();
const browser = await open();
mkdirSync(shots, { recursive: true });
const all = await listed();
for (const [manner, how] of Object.entries(manners)) {
  if (only && manner !== only) continue;
  const files = [];
  const page = await browser.newPage({
    viewport: { width: how.width ?? 390, height: how.height ?? 844 },
    forcedColors: how.forced ? 'active' : 'none',
    reducedMotion: 'reduce',
  });
  for (const state of some.length > 0 ? some : all) {
    await page.setViewportSize({ width: how.width ?? 390, height: how.height ?? 844 });
    await show(page, address, { state, ...how });
    if (manner !== 'landscape') await whole(page, how.width ?? 390, how.height ?? 844);
    const path = join(shots, `${manner}-${state}.png`);
    await page.screenshot({ path });
    files.push({ path, state });
  }
  await page.close();
  await sheets(manner, files, how.width ?? 390);
}
await browser.close();

/** Makes the window as tall as the screen, so that what sticks to its end is drawn there. */
async function whole(page, width, least) {
  const height = await page.evaluate(() => document.documentElement.scrollHeight);
  await page.setViewportSize({ width, height: Math.max(least, height) });
}

async function listed() {
  const page = await browser.newPage();
  const list = await names(page, address);
  await page.close();
  return list;
}

async function sheets(manner, files, width) {
  const perRow = width > 700 ? 2 : 4;
  const page = await browser.newPage({ viewport: { width: perRow * (width + 16), height: 900 } });
  for (let at = 0; at < files.length; at += perRow) {
    const pictures = files.slice(at, at + perRow).map(({ path, state }) =>
      `<figure><figcaption>${state}</figcaption><img width="${width}" src="data:image/png;base64,` +
      `${readFileSync(path, 'base64')}"></figure>`);
    await page.setContent('<style>body{margin:0;display:flex;gap:16px;background:#999;' +
      `align-items:start}figure{margin:0}</style>${pictures.join('')}`);
    const path = join(shots, `sheet-${manner}-${at / perRow}.png`);
    await page.screenshot({ path, fullPage: true });
  }
  await page.close();
}
