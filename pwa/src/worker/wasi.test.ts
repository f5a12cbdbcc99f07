import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { Core, CorePanic, startCore } from './core';
import { Exit, wasiImports, type Host } from './wasi';

const lines: string[] = [];
const host: Host = {
  print: (line) => lines.push(line),
  wallMS: () => 1_700_000_000_123.5,
  monoMS: () => 42.25,
  fillRandom: (bytes) => void bytes.fill(7),
};

// A module that imports the functions under test and nothing else, written by hand: the WebAssembly
// Core Specification 1.0 (W3C, 2019), chapter 5. Type 0 is () -> i32: the shim is called from here,
// so the types do not matter.
function moduleImporting(from: string, ...names: string[]): WebAssembly.Module {
  const text = (s: string): number[] => [s.length, ...new TextEncoder().encode(s)];
  const imports = names.flatMap((name) => [...text(from), ...text(name), 0, 0]);
  const section = (id: number, body: number[]): number[] => {
    const size = body.length < 128 ? [body.length] : [(body.length & 127) | 128, body.length >> 7];
    return [id, ...size, ...body];
  };
  return new WebAssembly.Module(new Uint8Array([
    0, 0x61, 0x73, 0x6d, 1, 0, 0, 0,
    ...section(1, [1, 0x60, 0, 1, 0x7f]),
    ...section(2, [names.length, ...imports]),
  ]));
}

type Calls = Record<string, (...args: (number | bigint)[]) => number>;

function shim(...names: string[]): { call: Calls; view: DataView } {
  const memory = new WebAssembly.Memory({ initial: 1 });
  const module = moduleImporting('wasi_snapshot_preview1', ...names);
  const imports = wasiImports(module, host, () => memory);
  const call = imports['wasi_snapshot_preview1'] as unknown as Calls;
  return { call, view: new DataView(memory.buffer) };
}

// Numbers and layouts below: WASI preview 1, typenames.witx (snapshot 01).
test('clocks answer in nanoseconds', () => {
  const { call, view } = shim('clock_time_get');
  assert.equal(call['clock_time_get']!(0, 1n, 8), 0);
  assert.equal(view.getBigUint64(8, true), 1_700_000_000_123_500_000n);
  assert.equal(call['clock_time_get']!(1, 1n, 8), 0);
  assert.equal(view.getBigUint64(8, true), 42_250_000n);
});

test('random bytes are put where they are wanted', () => {
  const { call, view } = shim('random_get');
  assert.equal(call['random_get']!(100, 3), 0);
  assert.deepEqual([99, 100, 101, 102, 103].map((i) => view.getUint8(i)), [0, 7, 7, 7, 0]);
});

test('what is written is printed by whole lines', () => {
  const { call, view } = shim('fd_write');
  const put = (at: number, s: string): void => {
    [...new TextEncoder().encode(s)].forEach((b, i) => view.setUint8(at + i, b));
  };
  put(200, 'one\ntw');
  put(300, 'o\n');
  [200, 6, 300, 2].forEach((word, i) => view.setUint32(i * 4, word, true));
  lines.length = 0;
  assert.equal(call['fd_write']!(2, 0, 2, 100), 0);
  assert.equal(view.getUint32(100, true), 8);
  assert.deepEqual(lines, ['one', 'two']);
  assert.equal(call['fd_write']!(5, 0, 2, 100), 8, 'badf');
});

test('there are no arguments, variables, folders or files', () => {
  const { call, view } = shim('args_sizes_get', 'environ_sizes_get', 'fd_prestat_get', 'path_open');
  view.setUint32(0, 99, true);
  assert.equal(call['args_sizes_get']!(0, 4), 0);
  assert.equal(view.getUint32(0, true), 0);
  assert.equal(call['environ_sizes_get']!(0, 4), 0);
  assert.equal(call['fd_prestat_get']!(3, 0), 8, 'badf');
  assert.equal(call['path_open']!(), 52, 'nosys');
});

test('waiting is over at once', () => {
  const { call, view } = shim('poll_oneoff');
  view.setBigUint64(0, 77n, true); // userdata of the first subscription; its tag 0 is a clock
  view.setBigUint64(48, 78n, true);
  view.setUint8(48 + 8, 1);
  assert.equal(call['poll_oneoff']!(0, 400, 2, 600), 0);
  assert.equal(view.getUint32(600, true), 2);
  assert.equal(view.getBigUint64(400, true), 77n);
  assert.equal(view.getBigUint64(432, true), 78n);
  assert.equal(view.getUint8(432 + 10), 1);
});

test('an end is an error that says its code', () => {
  const { call } = shim('proc_exit');
  assert.throws(() => call['proc_exit']!(2), (e: unknown) => e instanceof Exit && e.code === 2);
});

test('a module that wants something else is refused', () => {
  const module = moduleImporting('env', 'open_door');
  assert.throws(() => wasiImports(module, host, () => new WebAssembly.Memory({ initial: 1 })),
    /env\.open_door/);
});

function builtCore(): WebAssembly.Module {
  const dir = 'dist/assets/';
  const name = readdirSync(dir).find((file) => /^core\..*\.wasm$/.test(file));
  assert.ok(name, 'build the app first: ./scripts/build');
  return new WebAssembly.Module(readFileSync(dir + name));
}

test('the built core starts, opens an empty phone and draws it', async () => {
  const core = await startCore(builtCore(), host);
  const at = { wallMS: 1_700_000_000_000, monoMS: 1, run: 'test' };
  const args = { rows: [], blobs: [], phone: {} };
  const frame = core.call({ do: 'open', args, at, tzMin: 0, random: '0'.repeat(32) });
  const answer = frame.json as { error?: unknown; view?: { screen: string } };
  assert.equal(answer.error, undefined);
  assert.ok(answer.view?.screen);
});

test('a core that dies says so', () => {
  const memory = new WebAssembly.Memory({ initial: 1 });
  const rest = { memory, alloc: () => 0, _initialize: () => undefined };
  const end = (): bigint => {
    throw new Exit(2);
  };
  const core = new Core({ ...rest, call: end });
  assert.throws(() => core.call({}), CorePanic);
  const empty = new Core({ ...rest, call: () => 0n });
  assert.throws(() => empty.call({}), CorePanic, 'an answer that cannot be read');
});
