/**
 * Keeps the app on the phone: everything the build lists, fetched when this version is installed
 * and served from the phone from then on, with or without a network. Answers of the server never pass
 * through here. A new version waits until the page, at a quiet moment, tells it to take over.
 */
import { cleanupOutdatedCaches, PrecacheController, type PrecacheEntry } from 'workbox-precaching';

declare const self: ServiceWorkerGlobalScope;

/** The files of this version, put in by the build. */
declare const PRECACHE: PrecacheEntry[];

/** Addresses that a browser may be sent to and that are not the app. */
const notTheApp = /^\/(api\/|livez$|readyz$)/;

const kept = new PrecacheController();
kept.precache(PRECACHE);
cleanupOutdatedCaches();

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== location.origin) return;
  const name =
    request.mode === 'navigate' && !notTheApp.test(url.pathname) ? '/index.html' : url.pathname;
  if (!kept.getCacheKeyForURL(name)) return;
  event.respondWith(kept.createHandlerBoundToURL(name)({ event, request, url }));
});

self.addEventListener('message', (event) => {
  if (event.data === 'take-over') void self.skipWaiting();
});
