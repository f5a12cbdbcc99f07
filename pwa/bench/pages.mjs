// Hands the frames of a file to the built core again and again and prints the median milliseconds
// of each as one JSON object: opening a record, its result page, its plan page. Five rounds after
// one that is not counted; opening begins the core's state anew. Started by scripts/bench:
//   node pages.mjs <core.wasm> <frames>
import { readFileSync } from 'node:fs';
import { WASI } from 'node:wasi';

const [, , coreFile, framesFile] = process.argv;
const wasi = new WASI({ version: 'preview1' });
const module = await WebAssembly.compile(readFileSync(coreFile));
const instance = await WebAssembly.instantiate(module, wasi.getImportObject());
wasi.initialize(instance);
const { alloc, call, memory } = instance.exports;

const all = readFileSync(framesFile);
const frames = [];
for (let at = 0; at < all.length;) {
  const length = all.readUInt32LE(at);
  frames.push(all.subarray(at + 4, at + 4 + length));
  at += 4 + length;
}
const times = frames.map(() => []);
for (let round = 0; round <= 5; round++) {
  frames.forEach((frame, i) => {
    const start = performance.now();
    const place = alloc(frame.length);
    new Uint8Array(memory.buffer, place, frame.length).set(frame);
    const packed = BigInt.asUintN(64, call(0, frame.length));
    const ms = performance.now() - start;
    if (round > 0) times[i].push(ms);
    const answer = Buffer.from(memory.buffer, Number(packed >> 32n), Number(packed & 0xffffffffn));
    if (i === 2 && !answer.includes('"plan.accept"')) throw new Error('no plan was suggested');
  });
}
const [open, result, plan] = times.map((of) => of.sort((a, b) => a - b)[2]);
process.stdout.write(JSON.stringify({ open, result, plan }));
