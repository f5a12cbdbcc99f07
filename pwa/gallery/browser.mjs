/** Builds the gallery and opens it in a browser, for pictures and for checks. */
import { execFileSync } from 'node:child_process';
import { copyFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const here = dirname(fileURLToPath(import.meta.url));
const pwa = dirname(here);

/** The folder for pictures; git does not keep it. */
export const shots = join(pwa, 'shots');

/** Bundles the gallery into its folder under `shots`. */
export function build() {
  const out = join(shots, 'gallery');
  execFileSync('go', [
    'run', 'github.com/evanw/esbuild/cmd/esbuild', join(here, 'gallery.tsx'), '--bundle',
    `--outdir=${out}`, '--jsx=automatic', '--jsx-import-source=preact', '--loader:.woff2=file',
    '--log-level=warning',
  ], { cwd: pwa, stdio: 'inherit' });
  copyFileSync(join(here, 'index.html'), join(out, 'index.html'));
  return pathToFileURL(join(out, 'index.html')).href;
}

/** Starts the browser named by CHROMIUM, or the system's. */
export function open() {
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  return chromium.launch({ executablePath, args: ['--no-sandbox'] });
}

/** Shows one state; `text` is the size of the root's text in per cent. */
export async function show(page, address, { state, lang = 'en', scheme = 'light', text = 100 }) {
  await page.goto(`${address}?state=${state}&lang=${lang}&scheme=${scheme}`);
  if (text !== 100) await page.addStyleTag({ content: `html { font-size: ${text}% !important; }` });
  // All of them at once: a face is otherwise fetched when the first text needs it.
  await page.evaluate(() => Promise.all([...document.fonts].map((face) => face.load())));
}

/** The names of all states. */
export async function names(page, address) {
  await page.goto(address);
  return page.evaluate(() => globalThis.names);
}
