/** How many times slower a page and a worker really run: the same loop at full speed and slowed. */

const rounds = 5;

/** Counts for a fixed time, many beats of the slow-down long; answers the turns in a millisecond. */
const count = `() => {
  const start = performance.now();
  let turns = 0;
  let x = 1;
  do {
    for (let i = 0; i < 1e5; i++) x = (x * 1103515245 + 12345) & 0x7fffffff;
    turns += 1e5;
  } while (performance.now() - start < 200);
  return (turns + (x < 0 ? 1 : 0)) / (performance.now() - start);
}`;

/** Opens a page to count in; speeds are medians. */
async function openCounter(context) {
  const page = await context.newPage();
  await page.evaluate((count) => {
    globalThis.count = (0, eval)(count);
    const source = `self.onmessage = () => self.postMessage((${count})())`;
    globalThis.helper = new Worker(URL.createObjectURL(new Blob([source])));
  }, count);
  const inPage = () => page.evaluate(() => globalThis.count());
  const inWorker = () => page.evaluate(() => new Promise((done) => {
    globalThis.helper.onmessage = ({ data }) => done(data);
    globalThis.helper.postMessage(0);
  }));
  return {
    speeds: async () => ({ page: await median(inPage), worker: await median(inWorker) }),
    close: () => page.close(),
  };
}

async function median(run) {
  const values = [];
  for (let i = 0; i < rounds; i++) values.push(await run());
  return values.sort((a, b) => a - b)[(rounds - 1) / 2];
}

/**
 * Turns the slow-down's setting until page and worker together are `wanted` times slower than at
 * full speed, or as near as three turns lead. Answers what was measured last, and leaves it set.
 */
export async function calibrate(context, slowdown, wanted) {
  const counter = await openCounter(context);
  const full = await counter.speeds();
  let setting = wanted;
  for (let turn = 1; ; turn++) {
    slowdown.set(setting);
    const slow = await counter.speeds();
    const seen = { setting, page: full.page / slow.page, worker: full.worker / slow.worker };
    const off = (2 * wanted) / (seen.page + seen.worker);
    if (turn === 3 || Math.abs(off - 1) < 0.1) {
      await counter.close();
      return seen;
    }
    setting = Math.min(Math.max(setting * off, 1.2), 20);
  }
}
