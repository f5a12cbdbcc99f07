// Searches the doses of one plan again and again and prints the median milliseconds of five
// rounds, after one that is not counted, and how many doses each compared. Started by
// scripts/bench: node dose.mjs <search.wasm>
import { readFileSync } from 'node:fs';
import { WASI } from 'node:wasi';

const wasi = new WASI({ version: 'preview1' });
const module = await WebAssembly.compile(readFileSync(process.argv[2]));
const instance = await WebAssembly.instantiate(module, wasi.getImportObject());
wasi.initialize(instance);
instance.exports.begin();
const times = [];
let tried = 0;
for (let round = 0; round <= 5; round++) {
  const start = performance.now();
  tried = instance.exports.run();
  if (round > 0) times.push(performance.now() - start);
}
const ms = times.sort((a, b) => a - b)[2];
process.stdout.write(JSON.stringify({ ms, tried }));
