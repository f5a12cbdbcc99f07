import english from '../words/en.json';
import { parse, type Piece } from './message';
import type { Arg, Text } from './views';

/** Messages of one language: key to message. */
export type Messages = { readonly [key: string]: string };

/** A run of words; `apart` marks names, numbers and times, which keep their own direction. */
export interface Run {
  readonly text: string;
  readonly apart: boolean;
}

type Direction = 'ltr' | 'rtl';

const rightToLeft = new Set(['ar', 'dv', 'fa', 'he', 'ps', 'ur', 'yi']);

let lang = 'en';
let own: Messages = english;
let messages: Messages = english;
let missing: (key: string) => void = () => {};
let parsed = new Map<string, readonly Piece[]>();

/**
 * Chooses the language of all screens, given as a BCP 47 tag, and its messages; a key that they
 * lack is said in English. Sets lang and dir of the document where there is one.
 */
export function setWords(tag: string, words: Messages): void {
  lang = tag;
  own = tag.split('-')[0] === 'en' ? english : words;
  messages = { ...english, ...words };
  parsed = new Map();
  if (typeof document === 'undefined') return;
  document.documentElement.lang = tag;
  document.documentElement.dir = direction();
}

/** Calls `found` with each key that no language has; such a key is shown as itself. */
export function onMissing(found: (key: string) => void): void {
  missing = found;
}

/** Which way the chosen language reads. */
export function direction(): Direction {
  return rightToLeft.has(lang.split('-')[0]!) ? 'rtl' : 'ltr';
}

/** Whether a text is said in English because the chosen language lacks it. */
export function isBorrowed(text: Text): boolean {
  return own !== english && own[text.k] === undefined;
}

/** The words of a text, for attributes and titles. On the screen use Say. */
export function t(text: Text): string {
  return runs(text).map((run) => run.text).join('');
}

/** A number as the chosen language writes it, with no grouping, so that it can be typed again. */
export function numeral(value: number): string {
  const how = { useGrouping: false, maximumFractionDigits: 3 };
  return new Intl.NumberFormat(lang, how).format(value);
}

/** The words of a text in runs, so that names and numbers can be kept apart. */
export function runs(text: Text): readonly Run[] {
  const message = messages[text.k];
  if (message === undefined) {
    missing(text.k);
    return [{ text: text.k, apart: false }];
  }
  let pieces = parsed.get(text.k);
  if (!pieces) parsed.set(text.k, (pieces = parse(message)));
  return fill(pieces, text.a ?? {});
}

function fill(pieces: readonly Piece[], args: { readonly [name: string]: Arg }): Run[] {
  return pieces.flatMap((piece): Run[] => {
    if ('text' in piece) return [{ text: piece.text, apart: false }];
    if ('arg' in piece) return argument(args[piece.arg], piece.arg);
    return fill(branch(piece.branches, args[piece.count]), args);
  });
}

function branch(branches: { readonly [form: string]: readonly Piece[] }, count: Arg | undefined) {
  const n = Number(count);
  return branches[`=${n}`] ?? branches[new Intl.PluralRules(lang).select(n)] ?? branches['other']!;
}

function argument(arg: Arg | undefined, name: string): Run[] {
  if (arg === undefined) return [{ text: `{${name}}`, apart: false }];
  if (typeof arg === 'string') return [{ text: arg, apart: true }];
  if (typeof arg === 'number') {
    return [{ text: new Intl.NumberFormat(lang).format(arg), apart: true }];
  }
  if ('k' in arg) return [...runs(arg)];
  if ('day' in arg) {
    return [{ text: instant(arg.day, { dateStyle: 'medium' }), apart: true }];
  }
  if ('time' in arg) {
    return [{ text: instant(arg.time, { timeStyle: 'short' }), apart: true }];
  }
  return list(arg as readonly Text[]);
}

function instant(unixMS: number, how: Intl.DateTimeFormatOptions): string {
  return new Intl.DateTimeFormat(lang, how).format(unixMS);
}

function list(texts: readonly Text[]): Run[] {
  const marks = texts.map((_, i) => String(i));
  return new Intl.ListFormat(lang).formatToParts(marks).flatMap((part): Run[] =>
    part.type === 'element'
      ? [...runs(texts[Number(part.value)]!)]
      : [{ text: part.value, apart: false }],
  );
}
