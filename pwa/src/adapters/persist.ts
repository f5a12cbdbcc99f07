/** Asks the browser to keep what is stored even when the phone runs short of room. */
export async function askToKeep(): Promise<void> {
  const storage = navigator.storage as StorageManager | undefined;
  if (!storage?.persist || (await storage.persisted())) return;
  await storage.persist();
}
