/**
 * Keeps the app on the phone: everything the build lists, fetched when this version is installed
 * and served from the phone from then on, with or without a network. Answers of the server never pass
 * through here. A new version waits until the page, at a quiet moment, tells it to take over.
 */
import {
  cleanupOutdatedCaches,
  createHandlerBoundToURL,
  precacheAndRoute,
  type PrecacheEntry,
} from 'workbox-precaching';
import { NavigationRoute, registerRoute } from 'workbox-routing';

declare const self: ServiceWorkerGlobalScope;

/** The files of this version, put in by the build. */
declare const PRECACHE: PrecacheEntry[];

cleanupOutdatedCaches();
precacheAndRoute(PRECACHE);
registerRoute(new NavigationRoute(createHandlerBoundToURL('/index.html'), {
  denylist: [/^\/api\//, /^\/livez$/, /^\/readyz$/],
}));

self.addEventListener('message', (event) => {
  if (event.data === 'take-over') void self.skipWaiting();
});
