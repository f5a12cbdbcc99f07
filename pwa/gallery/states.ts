import type { View } from '../src/views';
import * as forms from './views/forms';
import * as lists from './views/lists';
import * as practice from './views/practice';
import * as tests from './views/tests';
import * as trunk from './views/trunk';
import * as work from './views/work';

/** Every screen and state there is a picture of. */
export const states: { readonly [name: string]: View } = {
  ...named('list', lists),
  ...named('form', forms),
  ...named('practice', practice),
  ...named('test', { ...tests, ...trunk }),
  ...named('work', work),
};

function named(group: string, views: { readonly [name: string]: View }) {
  const entries = Object.entries(views);
  return Object.fromEntries(entries.map(([name, view]) => [`${group}-${name}`, view]));
}
