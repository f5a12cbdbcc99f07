import type { Arg, Head, Text } from '../../src/views';

/** The sentences of the fixtures: each is its own key, in English. */
export const sentences: { [key: string]: string } = {};

/** A text of the fixtures, with {name} for arguments. */
export function say(sentence: string, a?: { readonly [name: string]: Arg }): Text {
  sentences[sentence] = sentence;
  return a ? { k: sentence, a } : { k: sentence };
}

/** The state of the fixtures' clock: 25 November 2026, 17:20:00 UTC. */
export const nowMS = Date.UTC(2026, 10, 25, 17, 20);

/** A reading so many milliseconds before the fixtures' now. */
export function ago(ms: number) {
  return { wallMS: nowMS - ms, monoMS: 1_000_000 - ms, run: 'gallery' };
}

/** The head of a person's screen. */
export function personHead(name: string, where: Text, state = say('Saved on this phone')): Head {
  return { name, where, state, stateRoute: '/sync', back: '/' };
}
