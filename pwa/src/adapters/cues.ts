/**
 * Plays the cues of a hold, rest or carry; their words stand on the screen as well. Beeps are
 * planned ahead on the audio clock, the others wait for their moment. After a gap what was missed stays
 * unsaid: late cues in a burst would mislead.
 */
import { t } from '../words';
import type { Cue, Reading } from '../views';
import { buzz } from './buzz';
import { clock } from './clock';
import { flash } from './flash';
import { cancelBeeps, planBeep } from './sound';
import { hush, speak } from './speech';

/** A cue that is later than this is missed. */
const lateMS = 400;

let stopTimers: (() => void) | undefined;

/** Plays the cues, whose times count from the reading; what was playing stops. */
export function playCues(cues: readonly Cue[], from: Reading): void {
  stopCues();
  let timers: ReturnType<typeof setTimeout>[] = [];
  const plan = (): void => {
    clear();
    const elapsed = clock.since(from);
    for (const cue of cues) {
      const inMS = cue.atMS - elapsed;
      if (inMS < -lateMS) continue;
      if (cue.channel === 'beep') planBeep(cue.tone, Math.max(0, inMS));
      else timers.push(setTimeout(() => due(cue, from), Math.max(0, inMS)));
    }
  };
  const clear = (): void => {
    timers.forEach(clearTimeout);
    timers = [];
    cancelBeeps();
  };
  // The audio clock may have stood still while the page was away: plan anew.
  const replan = (): void => {
    if (document.visibilityState === 'visible') plan();
  };
  document.addEventListener('visibilitychange', replan);
  stopTimers = () => {
    document.removeEventListener('visibilitychange', replan);
    clear();
  };
  plan();
}

/** Silence. */
export function stopCues(): void {
  stopTimers?.();
  stopTimers = undefined;
  hush();
}

function due(cue: Cue, from: Reading): void {
  if (clock.since(from) - cue.atMS > lateMS) return;
  switch (cue.channel) {
    case 'say':
      if (cue.text && !speak(t(cue.text), document.documentElement.lang)) planBeep('tick', 0);
      return;
    case 'buzz':
      buzz();
      return;
    case 'flash':
      flash();
  }
}
