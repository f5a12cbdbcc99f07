/**
 * A port of this machine for a server that may be started again on it: below those that systems give
 * to outgoing connections (from 32,768 on with Linux), so that none of them takes it meanwhile.
 */
import { once } from 'node:events';
import { createServer } from 'node:net';

let next = 10_000 + (process.pid * 7) % 20_000; // test files run as processes of their own

export async function freePort() {
  for (let tries = 0; tries < 100; tries++) {
    const port = next++;
    const probe = createServer();
    try {
      await once(probe.listen(port, '127.0.0.1'), 'listening');
    } catch {
      continue; // somebody has it
    }
    probe.close();
    await once(probe, 'close');
    return port;
  }
  throw new Error('no free port');
}
