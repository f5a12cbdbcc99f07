/**
 * The phone's engine room: owns the core, the storage and the talk with the server. The page asks
 * by messages and gets views back; this file only joins the parts.
 */
import type { Answer, Args, ToPage, ToWorker } from '../answer';
import type { Reading } from '../views';
import { Away } from './away';
import { startCore } from './core';
import { Desk, type FullAnswer } from './desk';
import { Door } from './door';
import { lockRoute } from './doorviews';
import { Live } from './live';
import { cannotStart, movedTab, noStorage, secondTab, trouble } from './notices';
import { Server } from './server';
import { Sync } from './sync';
import { claim, take, type TabEvents } from './tab';
import { Vault } from './vault';
import type { Host } from './wasi';

/** Address of the compiled core, put in by the build. */
declare const CORE_URL: string;

const roundMS = 30_000;
const retryMS = 5_000;

/** Everything that lives only while this tab is the writer. */
interface Office {
  readonly desk: Desk;
  readonly vault: Vault;
  readonly sync: Sync;
  readonly live: Live;
  readonly door: Door;
}

const host: Host = {
  print: (line) => console.error(line),
  wallMS: () => Date.now(),
  monoMS: () => performance.now(),
  fillRandom: (bytes) => void crypto.getRandomValues(bytes),
};

// Fetching starts before anything else is known.
let compiled = compile();
compiled.catch(() => undefined); // heard where it is awaited

const server = new Server();
const run = randomHex();
let office: Promise<Office | undefined> | undefined;
/** The office once it is open, and the door that a person has to open first. */
let here: Office | undefined;
let door: Door | undefined;
let isAtLock = false;
const away = new Away();
let awayTimer: ReturnType<typeof setTimeout> | undefined;
let closed: Answer | undefined;
let waiting: Answer | undefined;
let visible = true;
let connected = true;
let hasPasskeys = false;
let queue: ToWorker[] = [];

const events: TabEvents = {
  mine: () => {
    closed = undefined;
    waiting = undefined;
    office = begin();
    for (const message of queue.splice(0)) hear(message);
  },
  // What is asked meanwhile waits, so that a slow phone loses no tap and no invitation.
  second: () => {
    waiting = { view: secondTab, error: trouble('moved') };
    post({ kind: 'news', answer: waiting });
  },
  moved: () => shut({ view: movedTab, error: trouble('moved') }),
};

self.onmessage = (event: MessageEvent<ToWorker>) => hear(event.data);
setInterval(() => {
  if (visible) wake();
}, roundMS);
setInterval(() => void office?.then(retry), retryMS);
claim(events);

function hear(message: ToWorker): void {
  switch (message.kind) {
    case 'seen':
      visible = message.visible;
      connected = message.online;
      seen();
      return;
    case 'passkeys':
      hasPasskeys = true;
      void office?.then((open) => open && runQuietly(open.desk)('passkey.has', {}));
      return;
    case 'take':
      closed = undefined; // what is asked from here on waits for the storage
      take(events);
      return;
    case 'hello':
      if (closed ?? waiting) post({ kind: 'news', answer: (closed ?? waiting)! });
      return;
    case 'command':
      if (closed) {
        post({ kind: 'answer', id: message.id, answer: closed });
      } else if (office === undefined) {
        queue.push(message); // whose turn it is will be known in a moment
      } else {
        void command(office, message);
      }
  }
}

async function command(
  at: Promise<Office | undefined>,
  message: ToWorker & { kind: 'command' },
): Promise<void> {
  const answer = await answerTo(at, message);
  if (answer.view) isAtLock = answer.view.route === lockRoute;
  post({ kind: 'answer', id: message.id, answer: forPage(answer) });
  if (here) await follow(here, answer);
}

async function answerTo(
  at: Promise<Office | undefined>,
  { do: name, args, at: moment }: ToWorker & { kind: 'command' },
): Promise<FullAnswer> {
  const toForm = name === 'go' && args['route'] === lockRoute;
  if (name.startsWith('lock.') || (toForm && door?.isShut)) {
    return (await (door?.isShut ? door : here?.door)?.run(name, args)) ?? {};
  }
  const open = await at;
  if (!open) return { error: trouble('stopped') };
  return toForm ? open.door.run('lock.form', {}) : open.desk.run(name, args, moment);
}

/** Somebody looks, or nobody does any more. */
function seen(): void {
  clearTimeout(awayTimer);
  if (!visible) {
    away.seen(false, now());
    if (here?.vault.lock && !here.desk.isUnderWay) post({ kind: 'cover', on: true });
    lockWhenDue();
    return;
  }
  const locks = lockWhenDue();
  away.seen(true, now());
  clearTimeout(awayTimer);
  if (!locks) post({ kind: 'cover', on: false });
  wake(connected);
}

/** Locks the phone if nobody has looked for long enough, else tries again when it is time. */
function lockWhenDue(): boolean {
  const lock = here?.vault.lock;
  if (!here || !lock) return false;
  const leftMS = away.leftMS(lock.minutes, here.desk.isUnderWay, now());
  if (leftMS === undefined) return false;
  const isDue = leftMS === 0 && here.vault.unsaved === 0;
  if (isDue) lockUp(here);
  else awayTimer = setTimeout(lockWhenDue, Math.max(leftMS, retryMS));
  return isDue;
}

/** Closes all that is open; what is asked from now on waits for the PIN. */
function lockUp(open: Office): void {
  end(open);
  office = open.desk.close().then(begin);
}

function end(open: Office | undefined): void {
  open?.sync.stop();
  open?.live.stop();
  if (here === open) here = undefined;
}

/** Does what an answer asks the worker to do: send, or put a question to the server. */
async function follow(open: Office, answer: FullAnswer): Promise<void> {
  if (answer.sync) open.sync.kick(true);
  if (answer.later) {
    const { do: name, ms } = answer.later;
    later(() => void open.desk.run(name, {}, now()).then((next) => follow(open, next)), ms);
  }
  if (!answer.ask) return;
  const { path, body, then, auth } = answer.ask;
  const reply = await server.ask(path, body, auth === true);
  const next = await open.desk.run(then, { ...reply }, now());
  post({ kind: 'news', answer: forPage(next) });
  await follow(open, next);
}

/** Opens the storage and the core. Undefined when they do not open: the page has been told. */
async function begin(): Promise<Office | undefined> {
  const vault = new Vault(randomHex());
  const desk = new Desk({
    vault,
    start: async () => startCore(await module(), host),
    random: randomHex,
    now,
    zoneMin: () => -new Date().getTimezoneOffset(),
    phone: async () => ({
      ...(await phone()), pin: vault.lock !== undefined, passkeys: hasPasskeys,
    }),
  });
  const live: Live = new Live({
    server, url: liveURL(), news: () => sync.kick(true), wanted, random, later,
  });
  const sync: Sync = new Sync({
    server, run: runQuietly(desk), reached: () => live.listen(), online, random, wallMS, later,
  });
  const mine = new Door({
    vault, wallMS, signOff, hasPasskeys: () => hasPasskeys,
    show: (view) => {
      post({ kind: 'news', answer: { view } });
      post({ kind: 'cover', on: false });
    },
    alone: (run) => desk.turn(run),
    reopen: async () => void (await desk.open()),
    shut: () => here && lockUp(here),
  });
  door = mine;
  try {
    await vault.take();
    await mine.opened();
    const opened = await desk.open();
    post({ kind: 'news', answer: forPage(opened) });
    sync.kick();
    here = { desk, vault, sync, live, door: mine };
    void follow(here, opened);
    return here;
  } catch (cause: unknown) {
    console.error(cause);
    const view = cause instanceof DOMException ? noStorage : cannotStart;
    post({ kind: 'news', answer: { view, error: trouble('stopped') } });
    return undefined;
  }
}

/** Commands of the worker's own: their views are news to the page. */
function runQuietly(desk: Desk) {
  return async (name: string, args: Args, blobs?: readonly Uint8Array[]): Promise<FullAnswer> => {
    const { view, ...rest } = await desk.run(name, args, now(), blobs);
    const answer = { ...rest, ...(view && !isAtLock && { view }) };
    if (answer.view || answer.error) post({ kind: 'news', answer: forPage(answer) });
    if (answer.ask) void office?.then((open) => open && follow(open, answer));
    return answer;
  };
}

function shut(answer: Answer): void {
  closed = answer;
  void office?.then(end);
  office = undefined;
  for (const message of queue.splice(0)) hear(message);
  post({ kind: 'news', answer });
}

/** Looks for something to send or fetch; `now` does not wait for the next try. */
function wake(now = false): void {
  void office?.then((open) => {
    open?.sync.kick(now);
    open?.live.listen(now);
  });
}

async function retry(open: Office | undefined): Promise<void> {
  if (!open || open.vault.unsaved === 0) return;
  await open.desk.retry();
  if (open.vault.unsaved === 0) post({ kind: 'stored' });
}

/** The compiled core; fetched anew when the first try found no network. */
async function module(): Promise<WebAssembly.Module> {
  try {
    return await compiled;
  } catch {
    compiled = compile();
    return compiled;
  }
}

async function compile(): Promise<WebAssembly.Module> {
  const response = await fetch(CORE_URL);
  if (!response.ok) throw new Error(`the core: ${response.status}`);
  return WebAssembly.compileStreaming(response);
}

/** What this browser promises; absent facts are unknown. */
async function phone(): Promise<Args> {
  const [kept, room] = await Promise.all([
    navigator.storage?.persisted?.(),
    navigator.storage?.estimate?.(),
  ]);
  return { secure: self.isSecureContext, kept, usedB: room?.usage, roomB: room?.quota };
}

/** What is the worker's own stays here. */
function forPage({ sync, ask, later, bytes, ...answer }: FullAnswer): Answer {
  return answer;
}

function now(): Reading {
  return { wallMS: Date.now(), monoMS: Math.round(performance.now()), run };
}

function randomHex(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
}

function random(): number {
  return crypto.getRandomValues(new Uint32Array(1))[0]! / 2 ** 32;
}

function wallMS(): number {
  return Date.now();
}

function online(): boolean {
  return connected;
}

function wanted(): boolean {
  return visible && connected && server.isKnown;
}

/** Without a network the server learns of it when the phone is reported lost. */
function signOff(): Promise<unknown> {
  const asked = server.ask('/api/forget', {}, true);
  return Promise.race([asked, new Promise((done) => later(() => done(undefined), retryMS))]);
}

function later(run: () => void, ms: number): void {
  setTimeout(run, ms);
}

function liveURL(): string {
  return `${self.location.origin.replace(/^http/, 'ws')}/api/live`;
}

function post(message: ToPage): void {
  self.postMessage(message);
}
