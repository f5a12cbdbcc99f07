/**
 * Serves pwa/dist as the project's server does, but with no practice behind it: every question to
 * the interface is answered with 503. For tests of what the phone does by itself.
 */
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';

const dist = fileURLToPath(new URL('../dist/', import.meta.url));

const types = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
  '.png': 'image/png',
  '.woff2': 'font/woff2',
};

const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self';" +
  " connect-src 'self'; img-src 'self' blob: data:; font-src 'self'; style-src 'self';" +
  " manifest-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self';" +
  " frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types evenhold";

/**
 * Starts it on a free port. `changed` may replace files while it runs: name to bytes. Answers the
 * address and how to stop.
 */
export async function serve(changed = new Map()) {
  const server = createServer((request, response) => {
    void answer(new URL(request.url, 'http://localhost').pathname, response, changed);
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  return {
    url: `http://localhost:${server.address().port}`,
    stop: () => new Promise((done) => {
      server.closeAllConnections();
      server.close(done);
    }),
  };
}

async function answer(path, response, changed) {
  response.setHeader('Content-Security-Policy', policy);
  response.setHeader('X-Content-Type-Options', 'nosniff');
  if (path.startsWith('/api/')) {
    response.writeHead(503, { 'Content-Type': 'application/problem+json' });
    response.end('{"code":"busy","title":"Busy","detail":""}');
    return;
  }
  const wanted = path === '/' ? 'index.html' : normalize(path).slice(1);
  const [name, bytes] = (await read(wanted, changed)) ?? (await read('index.html', changed));
  response.setHeader('Content-Type', types[extname(name)] ?? 'application/octet-stream');
  const isFixed = name.startsWith('assets/');
  response.setHeader('Cache-Control', isFixed ? 'max-age=31536000, immutable' : 'no-cache');
  response.end(bytes);
}

async function read(name, changed) {
  if (changed.has(name)) return [name, changed.get(name)];
  try {
    return [name, await readFile(join(dist, name))];
  } catch {
    return undefined;
  }
}
