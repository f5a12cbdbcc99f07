/** The screens of the lock. They are drawn while there is no core to ask. */
import type { Lock, Prefs } from '../sealing';
import type { Action, Field, FormView, NoticeView, Text } from '../views';

/** The screen's address, where the core's own screens lead to. */
export const lockRoute = '/lock';

const isSaved: Text = { k: 'state.saved' };

function secret(id: string, label: Text, hint?: Text, error?: Text): Field {
  return { id, kind: 'secret', label, value: '', ...(hint && { hint }), ...(error && { error }) };
}

/** Asks for the PIN; `openFromMS` says when the next try is heard, 0 for at once. */
export function shutDoor(lock: Lock, most: number, openFromMS: number, error?: Text): NoticeView {
  const lines: Text[] = [];
  if (lock.underWay) lines.push({ k: 'lock.under_way' });
  if (lock.unsent > 0) lines.push({ k: 'lock.unsent', a: { n: lock.unsent } });
  else if (lock.tries > 0) lines.push({ k: 'lock.more', a: { n: Math.max(most - lock.tries, 1) } });
  if (lock.tries >= most) lines.push({ k: 'lock.kept', a: { n: lock.tries } });
  if (openFromMS > 0) lines.push({ k: 'lock.wait', a: { at: { time: openFromMS } } });
  return notice('locked', { k: 'lock.shut' }, lines, lock.prefs, [
    { label: { k: 'lock.forgot' }, do: 'lock.forgot', kind: 'quiet' },
    ...(lock.passkey
      ? [{ label: { k: 'lock.key' }, do: 'lock.key', args: { id: lock.passkey.id } }] : []),
    { label: { k: 'lock.open' }, do: 'lock.open', kind: 'main', form: true },
  ], secret('pin', { k: 'lock.pin' }, undefined, error));
}

/** Says what is lost with the PIN, before anything is. */
export function forgotten(lock: Lock): NoticeView {
  const lines: Text[] = [{ k: 'lock.forgot_lead' }];
  if (lock.unsent > 0) lines.push({ k: 'lock.forgot_unsent', a: { n: lock.unsent } });
  return notice('locked-forgot', { k: 'lock.forgot_finding' }, lines, lock.prefs, [
    { label: { k: 'lock.forgot_go' }, do: 'lock.wipe', kind: 'care' },
    { label: { k: 'lock.forgot_back' }, do: 'lock.back', kind: 'quiet' },
  ]);
}

/** After too many wrong tries. */
export function emptied(): NoticeView {
  return notice('locked-emptied', { k: 'lock.emptied' }, [{ k: 'lock.emptied_lead' }], undefined, [
    { label: { k: 'lock.on' }, do: 'lock.on', kind: 'main' },
  ]);
}

const head = { state: isSaved, back: '/' };

/** What the phone's lock is set to, and the way to lock it now. */
export function lockSet(lock: Lock, takesPasskey: boolean, said?: Text): NoticeView {
  return {
    screen: 'notice', route: lockRoute, head, finding: { k: 'lock.finding_set' },
    lines: [
      { k: 'lock.by_itself', a: { n: lock.minutes } }, { k: 'lock.minutes_hint' },
      ...(lock.passkey ? [{ k: 'lock.key_too' }] : []),
    ],
    actions: [
      ...(takesPasskey ? [{ label: { k: 'lock.key_add' }, do: 'lock.key' }] : []),
      { label: { k: 'lock.edit' }, do: 'lock.edit', kind: 'quiet' },
      { label: { k: 'lock.now' }, do: 'lock.now', kind: 'main' },
    ],
    ...(said && { said: { text: said } }),
  };
}

/** A browser that keeps no keys. */
export function cannotLock(): NoticeView {
  return {
    screen: 'notice', route: lockRoute, head, finding: { k: 'lock.cannot' },
    lines: [{ k: 'lock.cannot_lead' }], actions: [],
  };
}

/** Sets, changes and removes the PIN, and says what it is good for. */
export function lockForm(
  lock: Lock | undefined,
  most: number,
  hasPasskeys: boolean,
  errors: { readonly [id: string]: Text },
  said?: Text,
): FormView {
  const set: Action = {
    label: lock ? { k: 'lock.change' } : { k: 'lock.set' },
    do: 'lock.set', kind: 'main', form: true,
  };
  const remove: Action = {
    label: { k: 'lock.remove' }, do: 'lock.remove', form: true, kind: 'quiet',
  };
  return {
    screen: 'form', route: lockRoute, head: lock ? { ...head, back: lockRoute } : head,
    finding: lock ? { k: 'lock.edit' } : { k: 'lock.finding' },
    lines: [
      { k: 'lock.does' }, { k: 'lock.does_not' }, { k: 'lock.tries_lead', a: { n: most } },
      { k: 'lock.lost_lead' }, ...(hasPasskeys ? [{ k: 'lock.key_lead' }] : []),
    ],
    fields: [
      ...(lock ? [secret('old', { k: 'lock.old' }, undefined, errors['old'])] : []),
      secret('pin', lock ? { k: 'lock.new' } : { k: 'lock.pin' }, { k: 'lock.hint' }, errors['pin']),
      secret('again', { k: 'lock.again' }, undefined, errors['again']),
      minutesField(lock),
    ],
    actions: lock ? [remove, set] : [set],
    ...(said && { said: { text: said } }),
  };
}

function minutesField(lock: Lock | undefined): Field {
  return {
    id: 'minutes', kind: 'choice', label: { k: 'lock.minutes' }, hint: { k: 'lock.minutes_hint' },
    value: String(lock?.minutes ?? 5),
    options: [1, 5, 15, 60].map((n) => ({ value: String(n), label: { k: 'lock.after', a: { n } } })),
  };
}

function notice(
  route: string,
  finding: Text,
  lines: readonly Text[],
  prefs: Prefs | undefined,
  actions: readonly Action[],
  field?: Field,
): NoticeView {
  return {
    screen: 'notice', route, head: { state: isSaved },
    finding, lines, actions, ...(field && { field }), ...(prefs && { prefs }),
  };
}
