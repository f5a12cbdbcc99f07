/** Vibration: an extra, since many phones have none. */
export function buzz(): void {
  navigator.vibrate?.(200);
}
