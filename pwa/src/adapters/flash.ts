/**
 * Lights the whole screen for a moment. Never more than three times a second: WCAG 2.2 (2023),
 * success criterion 2.3.1.
 */
const lightMS = 120;
const apartMS = 340;

let lastMS = -apartMS;

export function flash(): void {
  const nowMS = performance.now();
  if (nowMS - lastMS < apartMS) return;
  lastMS = nowMS;
  document.documentElement.classList.add('flash');
  setTimeout(() => document.documentElement.classList.remove('flash'), lightMS);
}
