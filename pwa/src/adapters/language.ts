/** The words and the colours of the page, as this phone's owner wants them. */
import { setWords, type Messages } from '../words';

/** Addresses of the words files that are not part of the page, put in by the build. */
declare const WORDS: Readonly<Record<string, string>>;

let current = 'en';

/**
 * Chooses the language (a BCP 47 tag; empty follows the phone) and calls `done` when its words are
 * there. Words that cannot be fetched leave the page in the language it has.
 */
export async function useLanguage(wish: string, done: () => void): Promise<void> {
  const own = navigator.language;
  const tag = (wish || own).split('-')[0]!;
  const known = tag === 'en' || tag in WORDS ? tag : 'en';
  // The phone's own region says how dates are written.
  const full = own.split('-')[0] === known ? own : known;
  if (full === current) return;
  current = full;
  try {
    const words = known === 'en' ? {} : ((await (await fetch(WORDS[known]!)).json()) as Messages);
    if (full !== current) return; // changed again meanwhile
    setWords(full, words);
    done();
  } catch (cause: unknown) {
    console.warn(cause);
  }
}

/** Chooses the colours: `light`, `dark`, or `auto` to follow the phone. */
export function useScheme(scheme: string): void {
  document.documentElement.dataset['scheme'] = scheme;
}
