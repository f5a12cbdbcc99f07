/**
 * Runs in the head of the document, before anything is drawn: starts the worker, so that the core
 * is fetched and compiled while the page paints, and later the service worker.
 *
 * Scripts may only be started from addresses that the one policy here lets through (Trusted Types,
 * W3C); where a browser has none, the addresses are plain strings.
 */
import type { Boot } from './bootstrap';

/** Address of the worker's script, put in by the build. */
declare const WORKER_URL: string;

interface Policy {
  createScriptURL(url: string): string;
}

interface PolicyFactory {
  createPolicy(name: string, rules: Policy): Policy;
}

const allowed = [WORKER_URL, '/sw.js'];

const rules: Policy = {
  createScriptURL: (url) => {
    if (!allowed.includes(url)) throw new TypeError(`no script may be started from ${url}`);
    return url;
  },
};

const factory = (globalThis as { trustedTypes?: PolicyFactory }).trustedTypes;
const policy = factory ? factory.createPolicy('evenhold', rules) : rules;

const worker = new Worker(policy.createScriptURL(WORKER_URL));
(globalThis as typeof globalThis & { evenhold: Boot }).evenhold = { worker };

addEventListener('load', () => {
  // Absent where the page was not served securely: then the phone keeps no copy of the app.
  void navigator.serviceWorker
    ?.register(policy.createScriptURL('/sw.js'), { updateViaCache: 'none' })
    .catch((cause: unknown) => console.warn(cause));
});
