/**
 * Beeps. They are handed to the audio clock ahead of time, so that a busy page cannot make them
 * late; pausing cancels what is planned. Browsers let a page sound only after a tap, and a phone
 * may take the sound away for a call: then a new start is made at the next tap.
 */

interface Tone {
  readonly hertz: number;
  readonly seconds: number;
}

/** High for go, low for stop: told apart without looking. A tone not listed sounds like `tick`. */
const tones: Readonly<Record<string, Tone>> = {
  start: { hertz: 880, seconds: 0.35 },
  half: { hertz: 660, seconds: 0.2 },
  tick: { hertz: 660, seconds: 0.1 },
  end: { hertz: 440, seconds: 0.6 },
  rest: { hertz: 330, seconds: 0.4 },
};

let context: AudioContext | undefined;
let planned: OscillatorNode[] = [];
let seen = { seconds: 0, atMS: 0 };

/** A context may take this long to start. */
const startMS = 1_000;

/** To be called inside a tap: makes sounding possible from here on. */
export function unlockSound(): void {
  if (context && isAdvancing(context)) return;
  void context?.close().catch(() => undefined); // it is dead already
  context = new AudioContext();
  seen = { seconds: 0, atMS: performance.now() };
  void context.resume();
}

/** Plans a beep in `inMS` milliseconds. Does nothing while sound is locked. */
export function planBeep(tone: string | undefined, inMS: number): void {
  if (context?.state !== 'running') return;
  const { hertz, seconds } = tones[tone ?? 'tick'] ?? tones['tick']!;
  const at = context.currentTime + inMS / 1000;
  const source = context.createOscillator();
  const gain = context.createGain();
  source.frequency.value = hertz;
  // A hard edge clicks: rise and fall within ten milliseconds.
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.8, at + 0.01);
  gain.gain.setValueAtTime(0.8, at + seconds - 0.01);
  gain.gain.linearRampToValueAtTime(0, at + seconds);
  source.connect(gain).connect(context.destination);
  source.start(at);
  source.stop(at + seconds);
  planned.push(source);
  source.onended = () => {
    planned = planned.filter((one) => one !== source);
  };
}

/** Takes back everything planned. */
export function cancelBeeps(): void {
  for (const source of planned.splice(0)) source.disconnect();
}

// After a call, some phones say "running" while the audio clock stands still. What it showed at the
// last tap tells; between taps too close together it may rightly not have moved.
function isAdvancing(audio: AudioContext): boolean {
  const now = { seconds: audio.currentTime, atMS: performance.now() };
  const moved = now.seconds > seen.seconds || now.atMS - seen.atMS < startMS;
  seen = now;
  return moved && audio.state !== 'closed';
}
