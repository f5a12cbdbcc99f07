// Our own core, as WebAssembly with the flags of the phone's core, behind the calls of entry/.
import { readFileSync } from 'node:fs';
import { WASI } from 'node:wasi';

const text = new TextEncoder();
const back = new TextDecoder();

/** Starts the module in that file. */
export async function startCore(file) {
  const wasi = new WASI({ version: 'preview1' });
  const module = await WebAssembly.compile(readFileSync(file));
  const instance = await WebAssembly.instantiate(module, wasi.getImportObject());
  wasi.initialize(instance);
  const { alloc, call, memory } = instance.exports;
  const run = (what, phone, input = new Uint8Array()) => {
    const place = alloc(input.length);
    new Uint8Array(memory.buffer, place, input.length).set(input);
    const packed = BigInt.asUintN(64, call(what, phone === 'B' ? 1 : 0, input.length));
    return new Uint8Array(memory.buffer, Number(packed >> 32n), Number(packed & 0xffffffffn)).slice();
  };
  return {
    commit: (line) => run(0, line.phone, text.encode(JSON.stringify(line))),
    ask: (phone) => run(1, phone),
    answer: (request) => run(2, 'A', request),
    take: (phone, answer) => run(3, phone, answer)[0] === 1,
    save: () => run(4, 'A'),
    load: (bytes) => void run(5, 'A', bytes),
    show: () => JSON.parse(back.decode(run(6, 'A'))),
    keep: (phone) => void run(7, phone),
    restore: (phone) => void run(8, phone),
    bare: (message) => run(9, 'A', message),
    digest: (phone) => back.decode(run(10, phone).map((byte) => byte & 127)),
  };
}
