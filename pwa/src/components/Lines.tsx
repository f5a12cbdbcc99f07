import type { Text } from '../views';
import { Say } from './Say';

interface Props {
  readonly lines: readonly Text[];
  readonly name?: string;
}

/** Sentences under each other. */
export function Lines({ lines, name = 'line' }: Props) {
  return <>{lines.map((line, i) => <p key={i} class={name}><Say text={line} /></p>)}</>;
}
