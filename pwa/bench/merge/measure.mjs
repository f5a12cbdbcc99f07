// Replays a trace through one library and prints what was seen as one JSON object: sizes in bytes
// (each the least of plain, gzip and brotli), times in milliseconds (medians of five where a thing
// can be done again), memory in bytes. Started by scripts/bench with --expose-gc:
//   node measure.mjs <core|yjs|loro|automerge> <trace.jsonl> <core.wasm>
// Opening the saved record is seen in a process of its own, which holds nothing else, as a phone's
// page does not hold its server: the same script with the file of the saved record as one more word.
import { execFileSync } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import { startCore } from './core.mjs';

const [, script, name, traceFile, coreFile, savedFile] = process.argv;
const lines = readFileSync(traceFile, 'utf8').trim().split('\n').map((line) => JSON.parse(line));
const of = (part) => lines.filter((line) => line.part === part);
const rounds = 5;

const brotli = { params: { [constants.BROTLI_PARAM_QUALITY]: 11 } };
const least = (bytes) => Math.min(bytes.length, gzipSync(bytes, { level: 9 }).length,
  brotliCompressSync(bytes, brotli).length);
const sum = (numbers) => numbers.reduce((a, b) => a + b, 0);
const median = (numbers) => [...numbers].sort((a, b) => a - b)[numbers.length >> 1];

const again = (work) => Array.from({ length: rounds }, work);

function timed(work) {
  const start = performance.now();
  const result = work();
  return [performance.now() - start, result];
}

/** The three replicas of a general library, told by known versions. */
function housePeer(lib) {
  const docs = { A: lib.open('A'), B: lib.open('B'), S: lib.open('S') };
  const send = (from, to) => {
    const update = lib.since(docs[from], lib.version(docs[to]));
    return update;
  };
  return {
    commit: (line) => { docs[line.phone] = lib.commit(docs[line.phone], line); },
    sync: (phone) => {
      const up = send(phone, 'S');
      docs.S = lib.merge(docs.S, up);
      const down = send('S', phone);
      docs[phone] = lib.merge(docs[phone], down);
      return [up, down];
    },
    apart: () => {
      const update = send('B', 'A');
      const stored = lib.save(docs.A);
      const times = again(() => {
        const doc = lib.load(stored);
        return timed(() => lib.merge(doc, update))[0];
      });
      docs.A = lib.merge(docs.A, update);
      return { updates: [update], ms: median(times) };
    },
    cost: least,
    save: () => lib.save(docs.S),
    saveSmall: () => (lib.saveSmall ?? lib.save)(docs.S),
    load: (bytes) => lib.load(bytes),
    show: (doc) => lib.show(doc),
    isEqual: () => {
      const shown = ['A', 'S'].map((at) => JSON.stringify(sorted(lib.show(docs[at]))));
      return shown[0] === shown[1];
    },
  };
}

function sorted(value) {
  if (Array.isArray(value)) return value.map(sorted);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])]));
}

/**
 * Our own phones and server, with the whole conversation that the product has. The cost of a
 * message's operations alone is what it is longer than the same message without them.
 */
function houseCore(core) {
  const sync = (phone) => {
    const messages = [];
    for (let isMore = true; isMore;) {
      const request = core.ask(phone);
      const answer = core.answer(request);
      messages.push(request, answer);
      isMore = core.take(phone, answer);
    }
    return messages;
  };
  return {
    commit: (line) => void core.commit(line),
    sync,
    apart: () => {
      const updates = sync('B').filter((_, at) => at % 2 === 0);
      core.keep('A');
      core.restore('A'); // as it is started again below: the same answers fit the same requests
      const answers = sync('A').filter((_, at) => at % 2 === 1);
      const times = again(() => {
        core.restore('A');
        return sum(answers.map((answer) => {
          core.ask('A');
          return timed(() => core.take('A', answer))[0];
        }));
      });
      return { updates, ms: median(times) };
    },
    cost: (message) => Math.max(0, least(message) - least(core.bare(message))),
    save: core.save,
    saveSmall: core.save,
    load: core.load,
    show: core.show,
    isEqual: () => {
      sync('B');
      return core.digest('A') === core.digest('B');
    },
  };
}

const house = name === 'core' ? houseCore(await startCore(coreFile))
  : housePeer((await import(`./peers/${name}.mjs`)).default);

/** Starts this script again to load the record there; returns what it saw. */
function loadApart(saved) {
  const file = `${traceFile}.${name}.saved`;
  writeFileSync(file, saved);
  const words = ['--no-warnings', '--expose-gc', script, name, traceFile, coreFile, file];
  const told = execFileSync(process.execPath, words, { stdio: ['ignore', 'pipe', 'inherit'] });
  rmSync(file);
  return JSON.parse(told);
}

/** The median of some loads, and by how much the process grew, as the system counts it. */
function seeLoads(saved) {
  globalThis.gc();
  const before = process.memoryUsage.rss();
  const loads = [];
  let held, memoryBytes;
  for (let round = 0; round <= rounds; round++) {
    const [ms, shown] = timed(() => {
      held = house.load(saved);
      return house.show(held);
    });
    if (Object.keys(shown).length === 0) throw new Error('nothing was shown');
    if (round > 0) loads.push(ms);
    if (round === 0) {
      globalThis.gc();
      memoryBytes = process.memoryUsage.rss() - before;
    }
  }
  return { loadMS: median(loads), memoryBytes };
}

const seen = { name };
if (savedFile !== undefined) {
  process.stdout.write(JSON.stringify(seeLoads(readFileSync(savedFile))));
  process.exit(0);
}
const syncs = [];
for (const line of of('years')) {
  if (line.isSync) syncs.push(...house.sync(line.phone));
  else house.commit(line);
}
seen.syncsBytes = sum(syncs.map(least));
seen.syncsBareBytes = sum(syncs.map(house.cost));
const saved = house.save();
seen.wholeBytes = Math.min(least(saved), least(house.saveSmall()));

Object.assign(seen, loadApart(saved));

const session = of('session').filter((line) => !line.isSync);
seen.setMS = median(session.map((line) => timed(() => house.commit(line))[0]));
const [update] = house.sync('B');
seen.sessionBytes = least(update);
seen.sessionBareBytes = house.cost(update);
house.sync('A');
for (const line of of('apart')) house.commit(line);
const apart = house.apart();
seen.apartBytes = sum(apart.updates.map(least));
seen.apartBareBytes = sum(apart.updates.map(house.cost));
seen.mergeMS = apart.ms;
if (name !== 'core') house.sync('B');
house.sync('A');
seen.isEqual = house.isEqual();
process.stdout.write(`${JSON.stringify(seen)}\n`);
