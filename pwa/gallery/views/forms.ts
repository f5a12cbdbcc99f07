import { lockForm, shutDoor } from '../../src/worker/doorviews';
import type {
  Field, FormView, InviteView, ListView, NoticeView, Row, Text,
} from '../../src/views';
import { personHead, say } from './say';

const save = { label: say('Save'), do: 'save', kind: 'main', form: true } as const;

const fields: readonly Field[] = [
  { id: 'name', kind: 'text', label: say('Name'), value: 'Ines K.' },
  {
    id: 'sex', kind: 'choice', label: say('Sex, for the tables'), value: '', optional: true,
    options: [
      { value: 'female', label: say('Female') }, { value: 'male', label: say('Male') },
    ],
  },
  {
    id: 'birthYear', kind: 'number', label: say('Year of birth'), value: '1994', optional: true,
  },
  {
    id: 'statureMM', kind: 'number', label: say('Height'), value: '168', unit: say('cm'),
    hint: say('Without height and mass no load can be worked out.'),
  },
  { id: 'massG', kind: 'number', label: say('Body mass'), value: '61,5', unit: say('kg') },
  { id: 'complaint', kind: 'long', label: say('Complaint'), value: '', optional: true },
  {
    id: 'dominant', kind: 'choice', label: say('Stronger hand'), value: 'right',
    options: [{ value: 'left', label: say('Left') }, { value: 'right', label: say('Right') }],
  },
];

export const newPerson: FormView = {
  screen: 'form', route: '/new',
  head: { title: say('New person'), state: say('Saved on this phone'), back: '/' },
  finding: say('Who is it?'),
  fields,
  actions: [save],
};

export const refused: FormView = {
  ...newPerson,
  fields: fields.map((field): Field => {
    if (field.id === 'birthYear') {
      const error = say('That year has not come yet. Check the year; all else is kept.');
      return { ...field, value: '2094', error };
    }
    if (field.id === 'dominant') {
      return { ...field, value: '', error: say('Choose one. All else is kept.') };
    }
    return field;
  }),
};

const answer = (id: string, question: string, value: string): Field =>
  ({ id, kind: 'answer', label: say(question), value });

export const flags: FormView = {
  screen: 'form', route: '/p/2/flags', head: personHead('Ines K.', say('Before any work')),
  finding: say('Five questions for safety'),
  lines: [
    say('A yes does not mean harm. It means a clinician should look first. Local rules and ' +
      'licensed practice go before this list.'),
  ],
  care: {
    title: say('One answer was yes on 3 November'),
    lines: [say('No plan can be made until a clinician has looked. Ask your clinic or doctor.')],
  },
  fields: [
    answer('a', 'Pain at night that does not ease when you move?', 'no'),
    answer('b', 'A fall or a blow to the back in the last weeks?', 'yes'),
    answer('c', 'Numb between the legs, or trouble holding water?', ''),
    {
      id: 'd', kind: 'answer', label: say('A leg that has become weak?'), value: '',
      error: say('Answer yes or no. The other answers are kept.'),
    },
  ],
  actions: [save],
};

export const feel: FormView = {
  screen: 'form', route: '/work',
  head: { name: 'Jun S.', state: say('Saved on this phone') },
  finding: say('How was it?'),
  lines: [say('{n, plural, one {# set is saved.} other {# sets are saved.}}', { n: 9 })],
  fields: [
    {
      id: 'effort', kind: 'scale', label: say('Effort of the whole session'), value: '6',
      ends: [say('nothing at all'), say('the most I can')],
    },
    {
      id: 'pain', kind: 'scale', label: say('Pain at its worst'), value: '',
      ends: [say('no pain'), say('worst I can think of')],
    },
    { id: 'place', kind: 'text', label: say('Where did it hurt?'), value: '', optional: true },
  ],
  actions: [{ label: say('Done for today'), do: 'work.finish', kind: 'main', form: true }],
};

export const join: NoticeView = {
  screen: 'notice', route: '/join',
  head: { state: say('Nothing on this phone yet') },
  finding: say('Join your practice'),
  lines: [say('Scan the square code on your coach’s phone, or type the code that came with it.')],
  field: {
    id: 'code', kind: 'code', label: say('Code'), value: 'BDFG-HJKL-MNPQ-RSTV-WXZB-CDFG-HJKL-MNPQ',
    hint: say('Letters only; small or large does not matter.'),
    error: say('This code has been used. Nothing was changed. Ask your coach for a new one.'),
  },
  actions: [save, { label: say('I have no code'), route: '/no-code', kind: 'quiet' }],
};

export const secondTab: NoticeView = {
  screen: 'notice', route: 'second-tab',
  head: { state: say('Saved on this phone') },
  finding: say('Evenhold is open in another tab'),
  lines: [say('Only one tab can write, so that nothing is lost. Your entries are safe.')],
  actions: [{ label: say('Use it here'), do: 'tab.take', kind: 'main' }],
};

/** A square of dots as a stand-in: a real one comes from the server. */
const dots = Array.from({ length: 33 }, (_, y) =>
  Array.from({ length: 33 }, (_, x) => {
    const [a, b] = [Math.min(x, 32 - x), Math.min(y, 32 - y)];
    const corner = a < 7 && b < 7 && !(x > 16 && y > 16);
    const core = a > 1 && a < 5 && b > 1 && b < 5;
    if (corner) return a === 0 || b === 0 || a === 6 || b === 6 || core;
    return (x * x + 3 * y * x + y) % 5 < 2;
  }).map((on) => (on ? '1' : '0')).join(''));

export const invite: InviteView = {
  screen: 'invite', route: '/p/2/invite', head: personHead('Ines K.', say('Invitation')),
  finding: say('Let {name} scan this', { name: 'Ines K.' }),
  lines: [say('It works once. Good until 10:52. Whoever uses it sees only their own record.')],
  qr: dots,
  code: 'BDFG-HJKL-MNPQ',
  link: 'https://practice.example/join#BDFG-HJKL-MNPQ',
  actions: [{ label: say('Send the link'), do: 'invite.share', kind: 'main' }],
};

/** A phone that showed a right code and waits for the tap. */
export const waits: NoticeView = {
  screen: 'notice', route: '/join', head: { state: { k: 'state.not_joined' } },
  finding: { k: 'wait.finding' },
  lines: [
    { k: 'wait.lead', a: { at: { time: 1_772_452_800_000 } } }, { k: 'error.offline' },
  ],
  actions: [{ label: { k: 'wait.stop' }, do: 'join.stop', kind: 'quiet' }],
};

/** Who waits, on the phone that answers. */
export const knocks: ListView = {
  screen: 'list', route: '/door', head: { state: say('All sent 10:42'), back: '/' },
  finding: { k: 'knock.finding' },
  sections: [{
    note: { k: 'knock.lead' },
    rows: [knocker('Ines K.', 'client', 'android', []), knocker('Cora V.', 'coach', 'other', [{ k: 'knock.known' }])],
  }],
  actions: [],
};

function knocker(name: string, role: string, phone: string, more: readonly Text[]): Row {
  return {
    title: { k: 'phones.person', a: { name, role: { k: `role.${role}` } } },
    lines: [
      { k: `knock.phone_${phone}` },
      { k: 'knock.from', a: { address: '192.168.178.44', at: { time: 1_772_452_800_000 } } },
      ...more,
    ],
    actions: [
      { label: { k: 'knock.let' }, do: 'knock.answer', kind: 'main' },
      { label: { k: 'knock.away' }, do: 'knock.answer' },
    ],
  };
}

const lock = {
  salt: new Uint8Array(16), rounds: 1, key: { iv: new Uint8Array(12), box: new ArrayBuffer(0) },
  minutes: 15, tries: 10, lastMS: 0, unsent: 3, underWay: true,
};

export const locked: NoticeView = shutDoor(
  { ...lock, passkey: { id: new ArrayBuffer(0), key: lock.key } }, 10, 1_772_452_800_000,
  { k: 'lock.key_failed' },
);

export const lockChange: FormView = lockForm(lock, 10, true, { old: { k: 'lock.early' } });

/** A phone that was away from its practice for longer than that wants. */
export const away: NoticeView = {
  screen: 'notice', route: '/', head: { state: { k: 'state.saved' } },
  finding: { k: 'away.finding', a: { n: 30 } }, lines: [{ k: 'away.next' }],
  actions: [{ label: { k: 'invite.again' }, do: 'sync.state', kind: 'main' }],
};
