import assert from 'node:assert/strict';
import { test } from 'node:test';
import { pseudo } from '../gallery/pseudo';
import arabicPage from '../words/ar.json';
import english from '../words/en.json';
import { parse, type Piece } from './message';
import { direction, isBorrowed, numeral, onMissing, runs, setWords, t } from './words';

const sets = '{n, plural, =0 {no set} one {# set} other {# sets}}';

type Args = Parameters<typeof t>[0]['a'];

/** The words of a message of the test's own, in a language. */
function say(message: string, a: Args = {}, lang = 'en'): string {
  // English itself cannot be given messages; a private form of it can.
  setWords(lang === 'en' ? 'en-x-test' : lang, { m: message });
  return t({ k: 'm', a });
}

const three = ['page.no', 'page.yes', 'page.back'].map((k) => ({ k }));

test('arguments, counts and nesting', () => {
  const rows: readonly [name: string, message: string, a: object, want: string][] = [
    ['plain', 'Saved on this phone', {}, 'Saved on this phone'],
    ['a name', 'Let {name} scan', { name: 'Ines K.' }, 'Let Ines K. scan'],
    ['exact form first', sets, { n: 0 }, 'no set'],
    ['one', sets, { n: 1 }, '1 set'],
    ['other, grouped', sets, { n: 1200 }, '1,200 sets'],
    ['a count within words', `You did ${sets}.`, { n: 2 }, 'You did 2 sets.'],
    ['a text in a text', 'then {next}', { next: { k: 'page.yes' } }, 'then Yes'],
    ['a list', '{all}', { all: three }, 'No, Yes, and Back'],
    ['an argument left out', 'at {x}', {}, 'at {x}'],
  ];
  for (const [name, message, a, want] of rows) assert.equal(say(message, a as {}), want, name);
});

// Unicode CLDR, Language Plural Rules, Arabic (2024): 0 zero; 1 one; 2 two; n mod 100 = 3..10 few;
// n mod 100 = 11..99 many; else other.
test('Arabic has six forms', () => {
  const six = '{n, plural, zero {z} one {o} two {t} few {f} many {m} other {x}}';
  const want: readonly (readonly [number, string])[] = [
    [0, 'z'], [1, 'o'], [2, 't'], [3, 'f'], [10, 'f'], [11, 'm'], [99, 'm'], [100, 'x'], [102, 'x'],
    [103, 'f'],
  ];
  for (const [n, form] of want) assert.equal(say(six, { n }, 'ar'), form, String(n));
});

test('names, numbers and times are kept apart from the words', () => {
  setWords('en', {});
  const found = runs({ k: 'page.then', a: { next: 'Ines K.' } });
  assert.deepEqual(found, [{ text: 'then ', apart: false }, { text: 'Ines K.', apart: true }]);
});

test('days and times are told in the phone’s own time', () => {
  const at = new Date(2026, 10, 3, 17, 5).getTime();
  assert.match(say('{x}', { x: { day: at } }), /Nov.*3.*2026/);
  assert.match(say('{x}', { x: { time: at } }), /^5:05\sPM$/);
});

test('a key that a language lacks is said in English and marked as borrowed', () => {
  setWords('ar', { 'page.yes': 'نعم' });
  assert.equal(t({ k: 'page.no' }), 'No');
  assert.equal(isBorrowed({ k: 'page.no' }), true);
  assert.equal(isBorrowed({ k: 'page.yes' }), false);
  assert.equal(direction(), 'rtl');
  setWords('en', {});
  assert.equal(isBorrowed({ k: 'page.no' }), false);
  assert.equal(direction(), 'ltr');
});

test('a key that no language has is told and shown', () => {
  const found: string[] = [];
  onMissing((key) => found.push(key));
  assert.equal(t({ k: 'no.such.key' }), 'no.such.key');
  assert.deepEqual(found, ['no.such.key']);
  onMissing(() => undefined);
});

test('a number can be typed again as it is written', () => {
  setWords('en', {});
  assert.equal(numeral(1800), '1800');
  assert.equal(numeral(7.5), '7.5');
  setWords('de', {});
  assert.equal(numeral(7.5), '7,5');
  setWords('en', {});
});

test('a broken message is refused', () => {
  for (const bad of ['{', '{n', '{n, plural, one {x}}', '{n, plural, other {x}', 'x } y']) {
    assert.throws(() => parse(bad), SyntaxError, bad);
  }
});

test('every message can be read and asks for no more than the English one is given', () => {
  for (const [key, message] of Object.entries(english)) {
    assert.doesNotThrow(() => parse(message), key);
    const other = (arabicPage as Record<string, string>)[key];
    if (other === undefined) continue;
    const known = names(parse(message));
    for (const name of names(parse(other))) assert.ok(known.has(name), `${key}: ${name}`);
  }
});

test('the made-up language is two fifths longer and keeps what is in braces', () => {
  const words = 'Saved on this phone';
  const longer = pseudo({ a: words, b: 'Let {name} scan' });
  assert.ok(longer['a']!.length >= words.length * 1.3);
  assert.match(longer['b']!, /\{name\}/);
});

function names(pieces: readonly Piece[]): Set<string> {
  return new Set(pieces.flatMap((piece): string[] => {
    if ('text' in piece) return [];
    if ('arg' in piece) return [piece.arg];
    return [piece.count, ...Object.values(piece.branches).flatMap((branch) => [...names(branch)])];
  }));
}
