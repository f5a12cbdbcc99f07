import type { Text } from '../views';
import { Say } from './Say';

/** The heading of a screen says what was found, not what the screen is called. */
export function Finding({ text }: { readonly text: Text }) {
  return <h1 class="finding" tabIndex={-1}><Say text={text} /></h1>;
}
