/**
 * Slows a browser's renderer processes, workers and all, by stopping and continuing them in turn:
 * the browser's own slow-down leaves workers alone. How slow they really are is measured, not
 * assumed. Runs in a thread of its own, so that its beat does not wait for the measuring.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { isMainThread, Worker, workerData } from 'node:worker_threads';

/** One beat: a stop and a run. Short against a start, long against the cost of a signal. */
const beatMS = 20;

const full = 1000; // the shared setting is in thousandths

/** Prepares to slow the renderers below this process. */
export function prepareSlowdown() {
  const shared = new Int32Array(new SharedArrayBuffer(8));
  shared[0] = full;
  const thread = new Worker(new URL(import.meta.url), {
    workerData: { shared, root: process.pid },
  });
  return {
    /** 1 is full speed, 4 lets them run a quarter of the time; holds when this is done. */
    set: async (times) => {
      Atomics.store(shared, 0, Math.round(times * full));
      Atomics.notify(shared, 0);
      await new Promise((done) => setTimeout(done, 2 * beatMS));
    },
    /** Back to full speed for good. */
    end: async () => {
      Atomics.store(shared, 0, 0);
      Atomics.notify(shared, 0);
      await new Promise((done) => thread.once('exit', done));
    },
  };
}

function beat({ shared, root }) {
  const clock = new Int32Array(new SharedArrayBuffer(4));
  const sleep = (ms) => Atomics.wait(clock, 0, 0, ms);
  let nurseries = [];
  for (;;) {
    const setting = Atomics.load(shared, 0);
    if (setting === 0) return;
    if (setting <= full) {
      Atomics.wait(shared, 0, setting);
      continue;
    }
    if (nurseries.length === 0) nurseries = zygotesBelow(root);
    const runMS = (beatMS * full) / setting;
    const stopped = nurseries.flatMap(renderersOf).filter((pid) => signal(pid, 'SIGSTOP'));
    sleep(beatMS - runMS);
    for (const pid of stopped) signal(pid, 'SIGCONT');
    sleep(runMS);
  }
}

function signal(pid, name) {
  try {
    return process.kill(pid, name);
  } catch {
    return false; // gone meanwhile
  }
}

/** The processes that a browser's renderers are forked from; they last as long as the browser. */
function zygotesBelow(pid) {
  return childrenOf(pid).flatMap((child) => [
    ...(kindOf(child).includes('--type=zygote') ? [child] : []),
    ...zygotesBelow(child),
  ]);
}

function renderersOf(zygote) {
  return childrenOf(zygote).filter((child) => kindOf(child).includes('--type=renderer'));
}

/** A child belongs to the thread that started it. */
function childrenOf(pid) {
  return list(`/proc/${pid}/task`)
    .flatMap((thread) => read(`/proc/${pid}/task/${thread}/children`).split(' '))
    .filter(Boolean).map(Number);
}

function kindOf(pid) {
  return read(`/proc/${pid}/cmdline`);
}

function list(path) {
  try {
    return readdirSync(path);
  } catch {
    return []; // gone meanwhile
  }
}

function read(path) {
  try {
    return readFileSync(path, 'latin1');
  } catch {
    return ''; // gone meanwhile
  }
}

if (!isMainThread) beat(workerData);
