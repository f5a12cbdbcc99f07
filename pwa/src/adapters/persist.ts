/**
 * Asks the browser to keep what is stored even when the phone runs short of room; undefined from
 * one that cannot be asked.
 */
export async function askToKeep(): Promise<boolean | undefined> {
  return (navigator.storage as StorageManager | undefined)?.persist?.();
}
