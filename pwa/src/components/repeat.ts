import { useEffect, useRef } from 'preact/hooks';

const firstMS = 450;
const slowMS = 220;
const quickMS = 70;

/**
 * Handlers for a − or + that repeats while it is pressed, quicker and quicker. `step` is asked each
 * time, so it always works from the value now shown; it answers false when nothing is left to do.
 */
export function useRepeat(step: () => boolean) {
  const latest = useRef(step);
  latest.current = step;
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined);
  const repeated = useRef(false);
  const stop = () => clearTimeout(timer.current);
  useEffect(() => stop, []);
  const again = (waitMS: number) => {
    timer.current = setTimeout(() => {
      repeated.current = true;
      if (latest.current()) again(Math.max(quickMS, Math.min(slowMS, waitMS) * 0.85));
    }, waitMS);
  };
  return {
    onPointerDown: (event: PointerEvent) => {
      if (event.button !== 0) return;
      stop();
      repeated.current = false;
      again(firstMS);
    },
    onPointerUp: stop,
    onPointerLeave: stop,
    onPointerCancel: stop,
    onContextMenu: (event: Event) => event.preventDefault(),
    onClick: () => {
      stop();
      if (!repeated.current) latest.current();
      repeated.current = false;
    },
  };
}
