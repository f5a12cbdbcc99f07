/** How many times slower a page and a worker really run: the same loop at full speed and slowed. */

const rounds = 5;
const turns = 4;

/** Counts for a fixed time, several beats long; answers the turns in a millisecond. */
const count = `() => {
  const start = performance.now();
  let turns = 0;
  let x = 1;
  do {
    for (let i = 0; i < 1e5; i++) x = (x * 1103515245 + 12345) & 0x7fffffff;
    turns += 1e5;
  } while (performance.now() - start < 150);
  return (turns + (x < 0 ? 1 : 0)) / (performance.now() - start);
}`;

/** Opens a page to count in, and in a worker of which. */
async function openCounter(context) {
  const page = await context.newPage();
  await page.evaluate((count) => {
    globalThis.count = (0, eval)(count);
    const source = `self.onmessage = () => self.postMessage((${count})())`;
    globalThis.helper = new Worker(URL.createObjectURL(new Blob([source])));
  }, count);
  return {
    inPage: () => page.evaluate(() => globalThis.count()),
    inWorker: () => page.evaluate(() => new Promise((done) => {
      globalThis.helper.onmessage = ({ data }) => done(data);
      globalThis.helper.postMessage(0);
    })),
    close: () => page.close(),
  };
}

/** How much slower both run at a setting; full speed and slowed take turns, as the load drifts. */
async function slownessAt(setting, counter, slowdown) {
  const page = [];
  const worker = [];
  for (let i = 0; i < rounds; i++) {
    await slowdown.set(1);
    const full = { page: await counter.inPage(), worker: await counter.inWorker() };
    await slowdown.set(setting);
    page.push(full.page / (await counter.inPage()));
    worker.push(full.worker / (await counter.inWorker()));
  }
  return { page: median(page), worker: median(worker) };
}

function median(values) {
  return values.sort((a, b) => a - b)[(values.length - 1) / 2];
}

/**
 * Turns the slow-down's setting until page and worker together are `wanted` times slower than at
 * full speed, or as near as a few turns lead. Answers what was measured last, and leaves it set.
 */
export async function calibrate(context, slowdown, wanted) {
  const counter = await openCounter(context);
  let setting = wanted;
  for (let turn = 1; ; turn++) {
    const seen = await slownessAt(setting, counter, slowdown);
    const off = (2 * wanted) / (seen.page + seen.worker);
    if (turn === turns || Math.abs(off - 1) < 0.1) {
      await counter.close();
      return seen;
    }
    setting = Math.min(Math.max(setting * off, 1.2), 20);
  }
}
