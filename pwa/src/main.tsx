/**
 * The page: paints the last view at once, then whatever the worker answers. It joins the screens to
 * the adapters and works nothing out.
 */
import { render } from 'preact';
import { currentRoute, onMoved, showRoute, takeCode } from './adapters/address';
import { readAtEvent, clock } from './adapters/clock';
import { playCues, stopCues } from './adapters/cues';
import { isFile, saveFile } from './adapters/file';
import { useLanguage, useScheme } from './adapters/language';
import { lastView } from './adapters/lastview';
import { answerPasskey, askPasskey, hasPasskeys, isPasskeyAsked } from './adapters/passkey';
import { askToKeep } from './adapters/persist';
import { unlockSound } from './adapters/sound';
import { speak } from './adapters/speech';
import { watch } from './adapters/ticker';
import { onVersionTaken, takeVersion, watchVersion } from './adapters/version';
import { keepAwake } from './adapters/wakelock';
import type { Answer, Trouble } from './answer';
import type { Boot } from './bootstrap';
import { connect } from './bridge';
import type { Ports, Send } from './components/ports';
import { Screen } from './screens/Screen';
import './style/main.css';
import type { Text, View } from './views';
import { t } from './words';

const root = document.getElementById('app')!;
const { worker } = (globalThis as typeof globalThis & { evenhold: Boot }).evenhold;

let view: View | undefined;
let trouble: Trouble | undefined;
let spoken: Text | undefined;
/** The core has answered for the route of the address bar; its first view was for another. */
let settled = false;
let newVersion = false;
let reloadWhenQuiet = false;

const bridge = connect(worker, readAtEvent, {
  answer: take,
  stored: () => {
    if (isUnsaved()) trouble = undefined;
    draw();
  },
  cover: (on) => {
    root.hidden = on;
  },
});

const send: Send = (action, extra) => {
  if (action.say) sayNow(action.say);
  switch (action.do) {
    case undefined:
      return;
    case 'tab.take':
      bridge.take();
      void bridge.go(currentRoute());
      return;
    case 'page.reload':
      location.reload();
      return;
    case 'version.take':
      void takeVersion();
      return;
    case 'browser.keep':
      keep();
      return;
    case 'lock.key':
      void askPasskey(action.args?.['id'] as ArrayBuffer | undefined)
        .then((said) => bridge.send('lock.key', { said }));
      return;
    case 'page.print':
      print();
      return;
    default:
      void bridge.send(action.do, { ...action.args, ...extra });
  }
};

const ports: Ports = {
  send,
  go: (route) => void bridge.go(route),
  ticker: { watch },
  sound: { play: playCues, stop: stopCues },
};

/** Asks the browser to keep what is stored, and tells the core what it said. */
function keep(): void {
  void askToKeep().then((kept) => bridge.send('browser.keep', { kept }));
}

/** A cue that the coach chose: spoken where the phone can speak, and on the screen in any case. */
function sayNow(text: Text): void {
  spoken = text;
  speak(t(text), document.documentElement.lang);
  draw();
}

/** Asks for the screen that the address names; a link's code is taken out of it first. */
function follow(): void {
  const code = takeCode();
  if (code === undefined) void bridge.go(currentRoute());
  else void bridge.send('join.code', { code });
}

function take(answer: Answer, asked: boolean): void {
  if (asked || answer.error || isElsewhere(answer.view?.route)) settled = true;
  // News comes at any moment: it must not take away what a person has not read yet.
  if (answer.error) trouble = answer.error.field === undefined ? answer.error : undefined;
  else if (asked) trouble = undefined;
  if (asked) spoken = undefined;
  if (isFile(answer.result)) saveFile(answer.result);
  if (isPasskeyAsked(answer.result)) {
    void answerPasskey(answer.result).then((said) => bridge.send('passkey.said', { said }));
  }
  if (answer.view && settled) {
    const before = view?.route;
    view = answer.view;
    // Back from where the worker held the door: to where the person was.
    if (isElsewhere(before) && !isElsewhere(view.route)) void bridge.go(currentRoute());
    else showRoute(answer.view.route, asked);
    if (before === '/join' && view.route !== '/join') keep();
  }
  draw();
}

/** Another tab has the storage, or the phone is locked: the route is then not one of the core's. */
function isElsewhere(route: string | undefined): boolean {
  return route !== undefined && !route.startsWith('/');
}

function isUnsaved(): boolean {
  return trouble?.code === 'storage' || trouble?.code === 'full';
}

function draw(): void {
  if (!view) return;
  root.querySelector('.first-word')?.remove();
  if (reloadWhenQuiet && !view.busy) return location.reload();
  keepAwake(view.busy === true);
  if (view.prefs) {
    useScheme(view.prefs.scheme);
    void useLanguage(view.prefs.lang, draw);
  }
  render(<Screen view={withNote(view)} {...ports} />, root);
}

/** The view with what the page itself has to say, where the core left the line free. */
function withNote(shown: View): View {
  if (trouble) return { ...shown, said: { text: trouble.text } };
  if (spoken) return { ...shown, said: { text: spoken } };
  if (!newVersion || shown.busy || shown.said) return shown;
  const undo = { label: { k: 'version.take' }, do: 'version.take' };
  return { ...shown, said: { text: { k: 'version.new' }, undo } };
}

document.addEventListener('visibilitychange', () => {
  const visible = document.visibilityState === 'visible';
  if (visible) clock.show();
  else clock.hide();
  bridge.seen(visible, navigator.onLine);
});
// A worker does not hear of the network in every browser.
for (const change of ['online', 'offline']) {
  addEventListener(change, () => {
    bridge.seen(document.visibilityState === 'visible', navigator.onLine);
  });
}
for (const tap of ['pointerup', 'keydown']) document.addEventListener(tap, unlockSound, true);
addEventListener('beforeunload', (event) => {
  if (isUnsaved()) event.preventDefault();
});
onMoved(follow);
void watchVersion(() => {
  newVersion = true;
  draw();
});
onVersionTaken(() => {
  reloadWhenQuiet = true;
  draw();
});

follow();
void hasPasskeys().then((has) => has && bridge.passkeys());
void useLanguage('', draw);
void lastView(currentRoute()).then((stored) => {
  if (view || !stored) return; // the core was faster, or there is nothing yet
  view = stored;
  draw();
});
