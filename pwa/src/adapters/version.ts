/**
 * Finds out when a new version of the app is on the phone and swaps to it when told to. The page
 * reloads only then, or when another tab has swapped.
 */

/** Calls `ready` once a new version waits. */
export async function watchVersion(ready: () => void): Promise<void> {
  const container = navigator.serviceWorker as ServiceWorkerContainer | undefined;
  if (!container) return;
  const registration = await container.ready;
  const look = (): void => {
    if (registration.waiting && container.controller) ready();
  };
  registration.addEventListener('updatefound', () => {
    registration.installing?.addEventListener('statechange', look);
  });
  look();
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible' && navigator.onLine) {
      void registration.update().catch(() => undefined); // no network: next time
    }
  });
}

/** Has the waiting version take over. */
export async function takeVersion(): Promise<void> {
  const registration = await navigator.serviceWorker.getRegistration();
  registration?.waiting?.postMessage('take-over');
}

/** Calls `taken` when another version has taken over from the one that served this page. */
export function onVersionTaken(taken: () => void): void {
  const container = navigator.serviceWorker as ServiceWorkerContainer | undefined;
  if (!container?.controller) return; // the first version of all takes over from nobody
  container.addEventListener('controllerchange', taken);
}
