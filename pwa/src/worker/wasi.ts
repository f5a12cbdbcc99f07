/**
 * The little of WASI preview 1 that a Go reactor asks for: no files, no arguments, no environment.
 * Errors and panics that the core prints go to `print`, a line at a time. Every other function that
 * the module imports answers "not supported".
 *
 * Layouts and numbers are those of the WASI preview 1 witx files (snapshot 01): an iovec is two
 * 32-bit words, a subscription 48 bytes, an event 32.
 */
export interface Host {
  readonly print: (line: string) => void;
  /** Milliseconds since 1970 UTC, and of a clock that never goes back. */
  readonly wallMS: () => number;
  readonly monoMS: () => number;
  readonly fillRandom: (bytes: Uint8Array<ArrayBuffer>) => void;
}

/** The core ended its own run: after a panic, with code 2. */
export class Exit extends Error {
  constructor(readonly code: number) {
    super(`the core ended with code ${code}`);
  }
}

const ok = 0;
const badDescriptor = 8;
const notSupported = 52;
const clockMonotonic = 1;
const characterDevice = 2;

type Func = (...args: never[]) => number;

/** The imports for one instance; `memory` is asked for at each call, as it may have grown. */
export function wasiImports(
  module: WebAssembly.Module,
  host: Host,
  memory: () => WebAssembly.Memory,
): WebAssembly.Imports {
  const known = functions(host, () => new DataView(memory().buffer));
  const imports: Record<string, Func> = {};
  for (const { module: from, name, kind } of WebAssembly.Module.imports(module)) {
    if (from !== 'wasi_snapshot_preview1' || kind !== 'function') {
      throw new Error(`the core asks for ${from}.${name}, which the phone does not have`);
    }
    imports[name] = known[name] ?? (() => notSupported);
  }
  return { wasi_snapshot_preview1: imports };
}

function functions(host: Host, view: () => DataView): Record<string, Func> {
  const nothing = (count: number, size: number): number => {
    view().setUint32(count, 0, true);
    view().setUint32(size, 0, true);
    return ok;
  };
  const nanoseconds = (clock: number): bigint => {
    const ms = clock === clockMonotonic ? host.monoMS() : host.wallMS();
    return BigInt(Math.round(ms * 1e3)) * 1000n; // a double cannot hold today in nanoseconds
  };
  return {
    args_sizes_get: nothing,
    args_get: () => ok,
    environ_sizes_get: nothing,
    environ_get: () => ok,
    sched_yield: () => ok,
    clock_time_get: (clock: number, _precision: bigint, time: number) => {
      view().setBigUint64(time, nanoseconds(clock), true);
      return ok;
    },
    random_get: (at: number, length: number) => {
      host.fillRandom(new Uint8Array(view().buffer as ArrayBuffer, at, length));
      return ok;
    },
    fd_write: writer(host.print, view),
    fd_fdstat_get: (fd: number, stat: number) => {
      if (fd > 2) return badDescriptor;
      for (let i = 0; i < 24; i += 8) view().setBigUint64(stat + i, 0n, true);
      view().setUint8(stat, characterDevice);
      return ok;
    },
    fd_fdstat_set_flags: (fd: number) => (fd > 2 ? badDescriptor : ok),
    fd_prestat_get: () => badDescriptor, // there are no folders: Go stops asking at the first no
    fd_prestat_dir_name: () => badDescriptor,
    fd_close: () => badDescriptor,
    poll_oneoff: (from: number, to: number, count: number, written: number) => {
      // Nothing in the core may wait, so every event has happened at once.
      for (let i = 0; i < count; i++) {
        const event = to + i * 32;
        const subscription = from + i * 48;
        view().setBigUint64(event, view().getBigUint64(subscription, true), true);
        view().setUint16(event + 8, ok, true);
        view().setUint8(event + 10, view().getUint8(subscription + 8));
      }
      view().setUint32(written, count, true);
      return ok;
    },
    proc_exit: (code: number): number => {
      throw new Exit(code);
    },
  };
}

/** fd_write for standard output and error: whole lines to print. */
function writer(print: (line: string) => void, view: () => DataView): Func {
  const decoder = new TextDecoder();
  let rest = '';
  return (fd: number, iovecs: number, count: number, written: number) => {
    if (fd !== 1 && fd !== 2) return badDescriptor;
    let total = 0;
    for (let i = 0; i < count; i++) {
      const at = view().getUint32(iovecs + i * 8, true);
      const length = view().getUint32(iovecs + i * 8 + 4, true);
      rest += decoder.decode(new Uint8Array(view().buffer, at, length), { stream: true });
      total += length;
    }
    const lines = rest.split('\n');
    rest = lines.pop() ?? '';
    lines.forEach(print);
    view().setUint32(written, total, true);
    return ok;
  };
}
