/** What the core answers and what page and worker tell each other: plain data, no behaviour. */
import type { Cue, Reading, Text, View } from './views';

/** Why a command did not do what was asked: a code of a closed list; `field` names an input. */
export interface Trouble {
  readonly code: string;
  readonly field?: string;
  readonly text: Text;
}

/** What the page gets to know of a command. */
export interface Answer {
  readonly error?: Trouble;
  readonly view?: View;
  /** The screen that the address bar should name. */
  readonly route?: string;
  readonly cues?: readonly Cue[];
  readonly result?: unknown;
}

export type Args = { readonly [name: string]: unknown };

/** A passkey's name and its secret. */
export interface PasskeySaid {
  readonly id: ArrayBuffer;
  readonly secret: ArrayBuffer;
}

/** From the page to the worker. `id` comes back with the answer. */
export type ToWorker =
  | {
      readonly kind: 'command';
      readonly id: number;
      readonly do: string;
      readonly args: Args;
      readonly at: Reading;
    }
  | { readonly kind: 'seen'; readonly visible: boolean; readonly online: boolean }
  | { readonly kind: 'hello' }
  /** This phone has passkeys that can open its lock. */
  | { readonly kind: 'passkeys' }
  /** Use this tab: take the storage over from the tab that has it. */
  | { readonly kind: 'take' };

/** From the worker to the page. */
export type ToPage =
  | { readonly kind: 'answer'; readonly id: number; readonly answer: Answer }
  /** What waited for storage is stored now. */
  | { readonly kind: 'stored' }
  /** Cover what is shown, or show it again: nobody is to see it in passing on a locking phone. */
  | { readonly kind: 'cover'; readonly on: boolean }
  /** Something changed without a command of this page. */
  | { readonly kind: 'news'; readonly answer: Answer };
