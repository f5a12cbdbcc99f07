import { useRef } from 'preact/hooks';

/** A second press sooner than this is a bounce of a wet finger; no hold is that short. */
const bounceMS = 400;

/**
 * Handlers for a target that must react the moment the finger lifts, even after a long or sliding
 * press that the browser would not count as a click. Lifting outside cancels. Keys and assistive
 * technology come as a click without a press before it.
 */
export function usePress(act: () => void) {
  const last = useRef(-bounceMS);
  const pointer = useRef<number | undefined>(undefined);
  const fire = (stamp: number) => {
    if (stamp - last.current < bounceMS) return;
    last.current = stamp;
    act();
  };
  return {
    onPointerDown: (event: PointerEvent) => {
      if (event.button === 0) pointer.current = event.pointerId;
    },
    onPointerUp: (event: PointerEvent & { readonly currentTarget: HTMLElement }) => {
      if (event.pointerId !== pointer.current) return;
      pointer.current = undefined;
      const box = event.currentTarget.getBoundingClientRect();
      const inside = event.clientX >= box.left && event.clientX <= box.right &&
        event.clientY >= box.top && event.clientY <= box.bottom;
      if (inside) fire(event.timeStamp);
      else last.current = event.timeStamp; // a captured pointer may still send its click
    },
    onPointerCancel: () => {
      pointer.current = undefined;
    },
    onClick: (event: MouseEvent) => fire(event.timeStamp),
    onContextMenu: (event: Event) => event.preventDefault(),
  };
}
