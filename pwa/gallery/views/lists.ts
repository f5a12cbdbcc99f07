import type { ListView } from '../../src/views';
import { nowMS, personHead, say } from './say';

const day = 86_400_000;

export const home: ListView = {
  screen: 'list',
  route: '/',
  head: { state: say('Sending {n} of {all}', { n: 2, all: 5 }), stateRoute: '/sync' },
  finding: say('{n, plural, one {# person needs a look} other {# people need a look}}', { n: 5 }),
  sections: [
    {
      rows: [
        {
          name: 'Tomasz B.', route: '/p/1', care: true,
          lines: [say('Pain {pain} during the last session, {was} before', { pain: 6, was: 2 })],
          reason: say('ease or refer'),
        },
        {
          name: 'Ines K.', route: '/p/2', lines: [say('Left side gave way sooner')],
          bars: { left: 0.46, right: 0.71 },
        },
        {
          name: 'Aroha W.', route: '/p/3', lines: [say('One carry logged on two phones')],
          reason: say('same set?'),
        },
        {
          name: 'Lennart D.', route: '/p/4',
          lines: [say('Retest was due {on}', { on: { day: nowMS - 3 * day } })],
          bars: { left: 0.63, right: 0.6 },
        },
        {
          name: 'Farah M.', route: '/p/5',
          lines: [say('Nothing logged for {n, plural, one {# day} other {# days}}', { n: 9 })],
          reason: say('say hello'),
        },
      ],
    },
    {
      title: say('On track'),
      rows: [
        {
          name: 'Jun S.', route: '/p/6', lines: [say('Suitcase carry, {kg} kg next', { kg: 20 })],
          bars: { left: 0.69, right: 0.73 },
        },
        {
          name: 'Odile R.', route: '/p/7', lines: [say('Rests today')],
          bars: { left: 0.54, right: 0.56 },
        },
      ],
    },
  ],
  actions: [
    { label: say('Add a person'), route: '/new', kind: 'main' },
    { label: say('Invite a colleague'), route: '/invite' },
    { label: say('This phone'), route: '/look' },
  ],
};

export const homeEmpty: ListView = {
  screen: 'list',
  route: '/',
  head: { state: say('All sent {at}', { at: { time: nowMS } }), stateRoute: '/sync' },
  finding: say('Nobody is here yet'),
  sections: [
    {
      rows: [],
      empty: say('Add the first person you look after. A name is enough to begin: test both ' +
        'sides, see which gives way sooner, and plan from there.'),
    },
  ],
  actions: [{ label: say('Add a person'), route: '/new', kind: 'main' }],
};

export const person: ListView = {
  screen: 'list',
  route: '/p/1',
  head: personHead('Tomasz B.', say('Sore low back after long drives'),
    say('{n, plural, one {# needs your attention} other {# need your attention}}', { n: 3 })),
  running: { label: say('Hold running since {at}', { at: { time: nowMS - 40_000 } }), route: '/t' },
  finding: say('Pain {pain} during the last session, {was} before', { pain: 6, was: 2 }),
  care: {
    title: say('Pain rose above {n} of 10', { n: 5 }),
    lines: [
      say('Ease the work or stop it. If it stays or grows, ask a clinician to look before the ' +
        'next session.'),
    ],
    actions: [{ label: say('Note what the clinician found'), route: '/p/1/clear' }],
  },
  sections: [
    {
      title: say('Recorded twice'),
      note: say('Two phones wrote down the same thing. Keep one or both.'),
      rows: [
        {
          title: say('Suitcase carry, {kg} kg, {m} m', { kg: 16, m: 40 }),
          lines: [
            say('Weight in right hand, works left side'),
            say('{name}, {at}', { name: 'Noor A.', at: { time: nowMS - 3_600_000 } }),
          ],
          actions: [
            { label: say('Keep this one'), do: 'keep.one' },
            { label: say('Keep both'), do: 'keep.both' },
          ],
        },
      ],
    },
    {
      title: say('Tests'),
      rows: [
        {
          title: say('Left side gave way sooner'), bars: { left: 0.51, right: 0.77 },
          route: '/p/1/result/a',
          lines: [
            say('{step}, {on}', { step: say('Side hold, legs straight'), on: { day: nowMS } }),
            say('Left elbow down, works left side: {s} s, position lost', { s: 58 }),
            say('Right elbow down, works right side: {s} s, gave up', { s: 81 }),
          ],
        },
      ],
    },
    { title: say('Sessions'), rows: [], empty: say('No session yet.') },
  ],
  actions: [
    { label: say('Test both sides'), route: '/p/1/test', kind: 'main' },
    { label: say('Invite'), route: '/p/1/invite' },
    { label: say('Safety questions again'), route: '/p/1/flags' },
  ],
};

export const sync: ListView = {
  screen: 'list',
  route: '/sync',
  head: {
    title: say('Where things stand'), back: '/',
    state: say('{n, plural, one {# needs your attention} other {# need your attention}}', { n: 1 }),
  },
  finding: say('Everything is safe on this phone'),
  sections: [
    {
      rows: [
        {
          title: say('Last sent'), lines: [say('{on}, {at}', {
            on: { day: nowMS - day }, at: { time: nowMS - day },
          })],
          reason: say('{n, plural, one {# entry waits} other {# entries wait}}', { n: 12 }),
        },
        {
          title: say('One entry was refused'),
          lines: [
            say('This phone may not change a plan. The entry stays here and can be sent to your ' +
              'coach.'),
          ],
          reason: say('kept here'),
          actions: [{ label: say('Look at it'), route: '/sync/1' }],
        },
      ],
    },
  ],
  said: {
    text: say('Nothing could be sent just now. It goes by itself when there is a connection.'),
    undo: { label: say('Hide'), do: 'sync.hide' },
  },
  actions: [{ label: say('Send now'), do: 'sync.now', kind: 'main' }],
};

export const report: ListView = {
  screen: 'list',
  route: '/p/1/report',
  head: personHead('Tomasz B.', say('Report')),
  finding: say('Report'),
  sections: [
    {
      rows: [{
        name: 'Tomasz B.',
        lines: [
          say('Sore low back after long drives'),
          say('Made on {on} by {who}', { on: { day: nowMS }, who: 'Noor A.' }),
        ],
      }],
    },
    {
      title: say('Tests'),
      rows: [{
        title: say('Left side gave way sooner'), bars: { left: 0.51, right: 0.77 },
        lines: [
          say('Left elbow down, works left side: {s} s, position lost', { s: 58 }),
          say('Right elbow down, works right side: {s} s, gave up', { s: 81 }),
        ],
      }],
    },
    { title: say('Plan'), rows: [], empty: say('No plan in force.') },
    {
      title: say('Where it comes from'),
      rows: [{ lines: [say('our own estimate, not published')] }],
    },
  ],
  actions: [{ label: say('Print or share'), do: 'page.print', kind: 'main' }],
};
