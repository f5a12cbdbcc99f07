import { isBorrowed, runs } from '../words';
import type { Text } from '../views';

/** A text of the core in the chosen language; names and numbers keep their own direction. */
export function Say({ text }: { readonly text: Text }) {
  const words = runs(text).map((run) => (run.apart ? <bdi>{run.text}</bdi> : run.text));
  return isBorrowed(text) ? <bdi lang="en" dir="ltr">{words}</bdi> : <>{words}</>;
}
