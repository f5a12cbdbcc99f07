import type { Messages } from '../src/words';

const accents: { readonly [letter: string]: string } = {
  a: 'á', c: 'ç', e: 'é', g: 'ğ', i: 'í', l: 'ł', n: 'ñ', o: 'ö', r: 'ř', s: 'š', t: 'ť', u: 'ü',
  y: 'ý', A: 'Å', D: 'Ď', E: 'É', H: 'Ĥ', L: 'Ĺ', N: 'Ñ', R: 'Ŕ', S: 'Š', T: 'Ť', W: 'Ŵ',
};

/**
 * Messages as a language with longer words would have them: every letter outside braces accented,
 * and two fifths added. Plurals are left as they are but for their branches' length.
 */
export function pseudo(messages: Messages): Messages {
  return Object.fromEntries(Object.entries(messages).map(([key, m]) => [key, longer(m)]));
}

function longer(message: string): string {
  if (message.includes(', plural')) {
    return `${message} ${'ňo'.repeat(Math.ceil(message.length / 12))}`;
  }
  let letters = 0;
  const out = message.replace(/\{[^}]*\}|\p{L}/gu, (part) => {
    if (part.length > 1) return part;
    letters++;
    return accents[part] ?? part;
  });
  const more = Math.ceil(letters * 0.4);
  if (more < 3) return out + 'ň'.repeat(more);
  return `${out} ${'ňové ďal '.repeat(more).slice(0, more - 1)}`;
}
