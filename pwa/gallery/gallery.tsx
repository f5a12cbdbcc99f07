/**
 * Draws one state of one screen for pictures and checks:
 * index.html?state=test-running&lang=ar&scheme=dark. What taps ask for is kept in `asked`.
 */
import { render } from 'preact';
import type { Reading } from '../src/views';
import { Screen } from '../src/screens/Screen';
import { onMissing, setWords, type Messages } from '../src/words';
import english from '../words/en.json';
import arabicPage from '../words/ar.json';
import arabic from './words.ar.json';
import '../src/style/main.css';
import { pseudo } from './pseudo';
import { states } from './states';
import { ago, sentences } from './views/say';

const query = new URLSearchParams(location.search);
const asked: unknown[] = [];
const missing: string[] = [];
Object.assign(globalThis, { asked, missing, draw, change, names: Object.keys(states) });

onMissing((key) => missing.push(key));
const all: Messages = Object.assign(english, sentences);
const lang = query.get('lang') ?? 'en';
if (lang === 'ar') setWords('ar', { ...arabicPage, ...arabic });
else if (lang === 'pseudo') setWords('en', pseudo(all));
else setWords('en', all);
document.documentElement.dataset['scheme'] = query.get('scheme') ?? 'light';

const root = document.getElementById('app')!;

/** Draws a state anew. */
function draw(state: string): void {
  render(null, root);
  change(state);
}

/** Draws a state in place of the one before it, as the page does with each view. */
function change(state: string): void {
  const view = states[state];
  if (!view) return;
  render(
    <Screen
      view={view}
      send={(action, extra) => asked.push({ do: action.do, args: { ...action.args, ...extra } })}
      go={(route) => asked.push({ route })}
      ticker={{
        watch: (since: Reading, tick) => {
          tick(ago(0).wallMS - since.wallMS);
          return () => undefined;
        },
      }}
      sound={{ play: (cues) => asked.push({ cues: cues.length }), stop: () => undefined }}
    />,
    root,
  );
}

draw(query.get('state') ?? '');
