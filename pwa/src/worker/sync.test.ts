import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Refused } from './server';
import { Sync } from './sync';

interface Script {
  /** Answers of the server, in turn. */
  readonly posts: (() => Response)[];
  /** Whether the core has more after each response. */
  readonly more?: boolean[];
  readonly joined?: boolean;
  readonly online?: boolean;
}

/** A sync over a scripted server, and what it told the core. */
function run({ posts, more = [], joined = true, online = true }: Script) {
  const told: string[] = [];
  const heads: [role: unknown, days: unknown][] = [];
  const knocks: unknown[] = [];
  const waits: { run: () => void; ms: number }[] = [];
  let nowMS = 1_000_000;
  let posted = 0;
  const sync = new Sync({
    server: { post: async () => (posts[posted++] ?? (() => new Response('')))() },
    run: async (command, args) => {
      if (command === 'sync.request') return joined ? { bytes: new Uint8Array([1]) } : {};
      if (command === 'sync.response') {
        heads.push([args['role'], args['days']]);
        knocks.push(args['knocks']);
        return { sync: more.shift() ?? false };
      }
      const { state, code } = args as { state: string; code?: string };
      told.push(code ? `${state} ${code}` : state);
      return {};
    },
    reached: () => undefined,
    online: () => online,
    random: () => 0.5,
    wallMS: () => nowMS,
    later: (again, ms) => waits.push({ run: again, ms }),
  });
  const pass = (ms: number): void => void (nowMS += ms);
  return { sync, told, heads, knocks, waits, posted: () => posted, pass };
}

const settle = (): Promise<void> => new Promise((done) => setImmediate(done));
const good = (): Response => new Response(new Uint8Array([2]));
const as = (role: string, days: string) => (): Response => new Response(new Uint8Array([2]), {
  headers: { 'Evenhold-Role': role, 'Evenhold-Empty-After-Days': days },
});
const unreachable = (): Response => {
  throw new TypeError('network');
};
const busy = (retryAfter: string) => (): Response => {
  throw new Refused(503, { code: 'busy', title: '', detail: '' }, retryAfter);
};

test('rounds go on while there is more, then rest', async () => {
  const { sync, told, posted } = run({ posts: [good, good, good], more: [true, true, false] });
  sync.kick();
  await settle();
  assert.equal(posted(), 3);
  assert.deepEqual(told, ['sending', 'idle']);
});

test('the core is told what the answer says of the person’s role and of staying away', async () => {
  const { sync, heads } = run({ posts: [as('assistant', '30'), good], more: [true, false] });
  sync.kick();
  await settle();
  assert.deepEqual(heads, [['assistant', 30], ['', 0]]);
});

test('one round at a time; a reason that comes meanwhile makes one more', async () => {
  const { sync, posted } = run({ posts: [good, good, good] });
  sync.kick();
  sync.kick();
  sync.kick();
  await settle();
  assert.equal(posted(), 2);
});

test('a phone that has not joined asks nothing', async () => {
  const { sync, told, posted } = run({ posts: [], joined: false });
  sync.kick();
  await settle();
  assert.equal(posted(), 0);
  assert.deepEqual(told, ['idle']);
});

test('no network is a state, and no request is tried', async () => {
  const { sync, told, posted } = run({ posts: [], online: false });
  sync.kick();
  await settle();
  assert.deepEqual([told, posted()], [['offline'], 0]);
});

test('a server that is not reached is asked again later, and later still', async () => {
  const { sync, told, waits, posted, pass } = run({ posts: [unreachable, unreachable, good] });
  sync.kick();
  await settle();
  assert.deepEqual(told, ['sending', 'offline']);
  sync.kick(); // the regular round: too early
  await settle();
  assert.equal(posted(), 1);
  assert.deepEqual(waits.map((w) => w.ms), [1_000]);
  pass(1_000);
  waits[0]!.run();
  await settle();
  assert.deepEqual(waits.map((w) => w.ms), [1_000, 2_000]);
  sync.kick(true); // a person's tap does not wait
  await settle();
  assert.deepEqual([posted(), told.at(-1)], [3, 'idle']);
});

test('a server that names a time is not asked before it', async () => {
  const { sync, told, waits } = run({ posts: [busy('120')] });
  sync.kick();
  await settle();
  assert.deepEqual(told, ['sending', 'idle busy']);
  assert.equal(waits[0]!.ms, 121_000);
});

test('a stopped one stays silent', async () => {
  const { sync, posted } = run({ posts: [good] });
  sync.stop();
  sync.kick(true);
  await settle();
  assert.equal(posted(), 0);
});

test('how many wait at the door is passed on with each answer, none where nothing is said', async () => {
  const waiting = (): Response =>
    new Response(new Uint8Array([2]), { headers: { 'Evenhold-Knocks': '2' } });
  const { sync, knocks } = run({ posts: [waiting, good], more: [true, false] });
  sync.kick();
  await settle();
  assert.deepEqual(knocks, [2, 0]);
});
