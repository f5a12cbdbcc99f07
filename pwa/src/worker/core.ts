/** One running instance of the Go core. */
import { decodeFrame, encodeFrame, type Frame } from './frames';
import { wasiImports, type Host } from './wasi';

interface Exports {
  readonly memory: WebAssembly.Memory;
  readonly _initialize: () => void;
  readonly alloc: (bytes: number) => number;
  /** Takes a frame, answers one: its address in the upper half, its length in the lower. */
  readonly call: (address: number, bytes: number) => bigint;
}

/** The instance is dead and must be replaced; what was stored is safe. */
export class CorePanic extends Error {
  constructor(cause: unknown) {
    super('the core stopped', { cause });
  }
}

/** Starts an instance. Throws a CorePanic when the core cannot start. */
export async function startCore(module: WebAssembly.Module, host: Host): Promise<Core> {
  let memory: WebAssembly.Memory | undefined;
  const imports = wasiImports(module, host, () => {
    if (memory === undefined) throw new Error('the core ran before it had memory');
    return memory;
  });
  const instance = await WebAssembly.instantiate(module, imports);
  const exports = instance.exports as unknown as Exports;
  memory = exports.memory;
  guard(() => exports._initialize());
  return new Core(exports);
}

export class Core {
  constructor(private readonly exports: Exports) {}

  /** Runs one command to its end. Throws a CorePanic when the instance died of it. */
  call(message: unknown, blobs: readonly Uint8Array[] = []): Frame {
    const bytes = encodeFrame(message, blobs);
    return guard(() => {
      const { alloc, call, memory } = this.exports;
      const address = alloc(bytes.length) >>> 0;
      new Uint8Array(memory.buffer, address, bytes.length).set(bytes);
      const packed = BigInt.asUintN(64, call(address, bytes.length));
      const at = Number(packed >> 32n);
      return decodeFrame(new Uint8Array(memory.buffer, at, Number(packed & 0xffffffffn)));
    });
  }
}

// Whatever goes wrong inside, a trap, an exit or an answer that cannot be read, leaves the
// instance in a state that nobody knows.
function guard<T>(run: () => T): T {
  try {
    return run();
  } catch (cause: unknown) {
    throw new CorePanic(cause);
  }
}
