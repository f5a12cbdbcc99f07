/** What the worker itself has to say, where the core is not there to say it. */
import type { Trouble } from '../answer';
import type { Action, NoticeView, Text } from '../views';

export type TroubleCode =
  /** Storage refused; what was entered is kept in memory and tried again. */
  | 'storage'
  /** The same, because there is no room left. */
  | 'full'
  /** The core died and was started anew from what is stored. */
  | 'restarted'
  /** The core cannot start. */
  | 'stopped'
  /** Another tab has taken over. */
  | 'moved';

export function trouble(code: TroubleCode): Trouble {
  return { code, text: { k: `trouble.${code}` } };
}

const takeHere: Action = { label: { k: 'tab.take' }, do: 'tab.take', kind: 'main' };

/** Evenhold is open in another tab, which has the storage. */
export const secondTab: NoticeView = notice('second-tab', 'tab.second', [takeHere]);

/** Another tab has taken the storage from this one. */
export const movedTab: NoticeView = notice('moved', 'tab.moved', [takeHere]);

const again: Action = { label: { k: 'start.again' }, do: 'page.reload', kind: 'main' };

/** The core could not be fetched or cannot start; what is stored is untouched. */
export const cannotStart: NoticeView = notice('stopped', 'start.stopped', [again]);

/** The browser gives no storage: a private window, or a phone that is full to the brim. */
export const noStorage: NoticeView = notice('no-storage', 'start.no_storage', [again]);

function notice(route: string, key: string, actions: readonly Action[]): NoticeView {
  const text = (part: string): Text => ({ k: `${key}.${part}` });
  return {
    screen: 'notice',
    route,
    head: { title: { k: 'app.name' }, state: text('state') },
    finding: text('finding'),
    lines: [text('safe')],
    actions,
  };
}
