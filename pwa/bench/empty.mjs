/**
 * The peer of a start: a page with one list row whose head starts a worker that answers a message,
 * kept for offline use by a service worker. What a start costs beyond this is ours.
 */
import { createServer } from 'node:http';

const files = {
  '/': ['text/html; charset=utf-8', `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Empty</title><script src="/boot.js"></script>
<link rel="icon" href="data:,"></head>
<body><ul><li class="row-item">One row</li></ul></body></html>`],
  '/boot.js': ['text/javascript; charset=utf-8', `
const worker = new Worker('/worker.js');
globalThis.evenhold = { worker };
worker.postMessage({ kind: 'hello' });
addEventListener('load', () => navigator.serviceWorker.register('/sw.js'));`],
  '/worker.js': ['text/javascript; charset=utf-8', `
self.onmessage = () => self.postMessage({ kind: 'answer', id: 1, answer: {} });`],
  '/sw.js': ['text/javascript; charset=utf-8', `
self.addEventListener('install', (event) => event.waitUntil(
  caches.open('kept').then((kept) => kept.addAll(['/', '/boot.js', '/worker.js']))));
self.addEventListener('fetch', (event) => event.respondWith(caches.match(event.request)));`],
};

/** Serves it on a free port. Its host differs from the app's, so that they share no process. */
export async function serveEmpty() {
  const server = createServer((request, response) => {
    const file = files[request.url];
    response.writeHead(file ? 200 : 404, { 'Content-Type': file?.[0] ?? 'text/plain' });
    response.end(file?.[1]);
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  return {
    url: `http://127.0.0.1:${server.address().port}/`,
    stop: () => new Promise((done) => {
      server.closeAllConnections();
      server.close(done);
    }),
  };
}
