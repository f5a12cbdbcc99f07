import type { ComponentChildren } from 'preact';
import { numeral } from '../words';

interface Props {
  readonly seconds: number;
  readonly children?: ComponentChildren;
}

/**
 * A running time in whole seconds, as large as its half allows. It is no live region, or a screen
 * reader would speak every second.
 */
export function Digits({ seconds, children }: Props) {
  const digits = numeral(seconds);
  return (
    <span class="digits-box">
      <bdi class="digits" style={{ '--figures': String(Math.max(2, digits.length)) }}>{digits}</bdi>
      {children && <span class="digits-note">{children}</span>}
    </span>
  );
}

/** A time as minutes and seconds. */
export function Clock({ seconds }: { readonly seconds: number }) {
  const two = numeral(100 + (seconds % 60)).slice(-2);
  return <bdi class="clock" role="timer">{numeral(Math.floor(seconds / 60))}:{two}</bdi>;
}
