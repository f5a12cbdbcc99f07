/**
 * Reads the messages of a words file: plain text with {name} for an argument and
 * {n, plural, =0 {none} one {# set} other {# sets}} for a count. Within a branch # is the count.
 */

export type Piece =
  | { readonly text: string }
  | { readonly arg: string }
  | { readonly count: string; readonly branches: { readonly [form: string]: readonly Piece[] } };

/** The pieces of a message. Throws a SyntaxError on an open brace or a plural without "other". */
export function parse(message: string): readonly Piece[] {
  const [pieces, end] = read(message, 0, '');
  if (end < message.length) throw new SyntaxError(`stray } in "${message}"`);
  return pieces;
}

function read(message: string, start: number, count: string): [Piece[], number] {
  const pieces: Piece[] = [];
  let text = '';
  let at = start;
  const flush = () => {
    if (text) pieces.push({ text });
    text = '';
  };
  while (at < message.length && message[at] !== '}') {
    const c = message[at]!;
    if (c === '{') {
      flush();
      const [piece, next] = readArgument(message, at + 1);
      pieces.push(piece);
      at = next;
    } else if (c === '#' && count) {
      flush();
      pieces.push({ arg: count });
      at++;
    } else {
      text += c;
      at++;
    }
  }
  flush();
  return [pieces, at];
}

function readArgument(message: string, start: number): [Piece, number] {
  const head = /^\s*(\w+)\s*(?:(\})|,\s*plural\s*,)/.exec(message.slice(start));
  if (!head) throw new SyntaxError(`cannot read the braces in "${message}"`);
  const name = head[1]!;
  let at = start + head[0].length;
  if (head[2]) return [{ arg: name }, at];
  const branches: { [form: string]: readonly Piece[] } = {};
  for (;;) {
    const form = /^\s*(=\d+|\w+)\s*\{/.exec(message.slice(at));
    if (!form) break;
    const [pieces, end] = read(message, at + form[0].length, name);
    if (message[end] !== '}') throw new SyntaxError(`unclosed branch in "${message}"`);
    branches[form[1]!] = pieces;
    at = end + 1;
  }
  const close = /^\s*\}/.exec(message.slice(at));
  if (!close || !branches['other']) throw new SyntaxError(`plural without "other" in "${message}"`);
  return [{ count: name, branches }, at + close[0].length];
}
