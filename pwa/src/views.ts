/**
 * Everything a screen can be asked to draw. The core (pwa/core) works the views out; the page
 * draws them and asks. A view holds no number that the page would have to calculate with: lengths
 * of bars are fractions of the half width, times are whole seconds or readings of the clocks.
 *
 * pwa/core/app/views_test.go holds the two sides of this file together.
 */

/** Words to be looked up in pwa/words/<language>.json: key and arguments. */
export interface Text {
  readonly k: string;
  readonly a?: { readonly [name: string]: Arg };
}

/** {day: ms} and {time: ms} are instants (milliseconds since 1970 UTC), shown in local time. */
export type Arg =
  | string
  | number
  | Text
  | { readonly day: number }
  | { readonly time: number }
  | readonly Text[];

/** A reading of the phone's two clocks; `run` names one run of the page. */
export interface Reading {
  readonly wallMS: number;
  readonly monoMS: number;
  readonly run: string;
}

export type SideName = 'left' | 'right';

/** What a tap asks for: a command to the core, or another screen. */
export interface Action {
  readonly label: Text;
  readonly do?: string;
  readonly args?: { readonly [name: string]: unknown };
  readonly route?: string;
  readonly kind?: 'main' | 'plain' | 'care' | 'quiet';
  /** The values of the screen's form go along as args.values. */
  readonly form?: boolean;
  /** Spoken at once by the page. */
  readonly say?: Text;
}

export interface Head {
  /** A person's own name, or absent where `title` says what the screen is. */
  readonly name?: string;
  readonly title?: Text;
  readonly where?: Text;
  /** The four wordings: saved on this phone, sending 3 of 12, all sent 10:42, 3 need your attention. */
  readonly state: Text;
  readonly stateRoute?: string;
  readonly back?: string;
}

interface Base {
  readonly route: string;
  readonly head: Head;
  /** True while a hold, carry or rest runs: nothing may reload the page. */
  readonly busy?: boolean;
  /** A hold that runs elsewhere: "Hold running since 10:32". */
  readonly running?: Action;
  /** One line after a command: what was done, with a way back. */
  readonly said?: { readonly text: Text; readonly undo?: Action };
  /** How this phone shows things: a BCP 47 tag or empty for the phone's own; auto, light or dark. */
  readonly prefs?: { readonly lang: string; readonly scheme: string };
}

/** Words on the amber ground: pain and red flags. It always says whom to ask. */
export interface Care {
  readonly title: Text;
  readonly lines: readonly Text[];
  readonly actions?: readonly Action[];
}

export interface Bars {
  /** Fraction 0..1 of the half width, for each working side. */
  readonly left: number;
  readonly right: number;
}

/** A list row: a sentence on the left, the reason or the shape on the right. */
export interface Row {
  readonly name?: string;
  readonly title?: Text;
  readonly lines: readonly Text[];
  readonly reason?: Text;
  readonly bars?: Bars;
  readonly route?: string;
  readonly actions?: readonly Action[];
  /** Drawn on the care ground. */
  readonly care?: boolean;
  /** How the numbers of the row were come by. */
  readonly working?: WorkingView;
}

export interface Section {
  readonly title?: Text;
  readonly note?: Text;
  readonly rows: readonly Row[];
  readonly empty?: Text;
  readonly trend?: TrendView;
}

/** One test of a side: fractions of the half width; `at` is the height, 0 the oldest. */
export interface TrendMark {
  readonly at: number;
  readonly mid: number;
  readonly low: number;
  readonly high: number;
  /** The hold as measured. */
  readonly tested?: number;
  /** It was only a lower bound. */
  readonly atLeast?: boolean;
}

/** Both sides through time, either side of the plumb line, the oldest test on top. */
export interface TrendView {
  readonly label: Text;
  readonly first: Text;
  readonly last: Text;
  readonly left: readonly TrendMark[];
  readonly right: readonly TrendMark[];
}

/** Coach's home (who needs me), a person's page, the sync page, a client's history. */
export interface ListView extends Base {
  readonly screen: 'list';
  readonly finding: Text;
  readonly care?: Care;
  readonly sections: readonly Section[];
  readonly workings?: readonly WorkingView[];
  readonly actions: readonly Action[];
}

export interface Option {
  readonly value: string;
  readonly label: Text;
}

export interface Field {
  readonly id: string;
  /**
   * scale: 0 to 10 as eleven large targets; answer: yes or no, neither chosen at first; secret: not
   * shown while it is typed.
   */
  readonly kind: 'text' | 'long' | 'number' | 'choice' | 'answer' | 'scale' | 'code' | 'secret';
  readonly label: Text;
  readonly hint?: Text;
  readonly value: string;
  readonly unit?: Text;
  readonly options?: readonly Option[];
  readonly error?: Text;
  readonly optional?: boolean;
  /** What the ends of a scale mean. */
  readonly ends?: readonly [Text, Text];
}

/** A form; what was typed is kept when the core refuses a field. */
export interface FormView extends Base {
  readonly screen: 'form';
  readonly finding: Text;
  readonly lines?: readonly Text[];
  readonly care?: Care;
  readonly sections?: readonly Section[];
  readonly fields: readonly Field[];
  readonly actions: readonly Action[];
}

export type HalfState = 'waiting' | 'next' | 'running' | 'done';

/** One half of the timing screen: the side of the body that works. */
export interface Half {
  /** Absent for a hold without sides. */
  readonly side?: SideName;
  readonly title: Text;
  /** Down side and working side, both said. */
  readonly notes: readonly Text[];
  readonly state: HalfState;
  readonly since?: Reading;
  readonly heldS?: number;
  readonly result?: Text;
  readonly act?: Text;
  readonly do?: string;
  readonly args?: { readonly [name: string]: unknown };
}

/** The side-hold test: set-up, then one half of the screen per side. */
export interface TestView extends Base {
  readonly screen: 'test';
  readonly phase: 'setup' | 'timing';
  /** setup */
  readonly care?: Care;
  readonly finding?: Text;
  readonly lines?: readonly Text[];
  readonly figure?: Figure;
  readonly fields?: readonly Field[];
  readonly actions?: readonly Action[];
  /** timing: the half drawn left on the screen first; a coach who faces the athlete flips it. */
  /** One alone is a hold without sides, and takes the whole width. */
  readonly halves?: readonly [Half, Half] | readonly [Half];
  readonly foot?: TestFoot;
}

export interface TestFoot {
  readonly title?: Text;
  /** A rest that ends at this wall time. */
  readonly until?: Reading;
  readonly restS?: number;
  readonly chips: readonly Action[];
  readonly field?: Field;
  readonly cues?: readonly Cue[];
  readonly cuesFrom?: Reading;
}

export interface Side {
  readonly heldS: number;
  /** Fractions of the half width. */
  readonly bar: number;
  readonly low?: number;
  readonly high?: number;
  readonly notes: readonly Text[];
  /** The hold is a lower bound: it ended for another reason than the trunk. */
  readonly atLeast?: boolean;
}

export interface ResultView extends Base {
  readonly screen: 'result';
  readonly finding: Text;
  readonly left?: Side;
  readonly right?: Side;
  readonly verdict: Text;
  readonly detail: readonly Text[];
  readonly working?: WorkingView;
  readonly sections: readonly Section[];
  readonly care?: Care;
  readonly actions: readonly Action[];
}

/** How a number was come by. */
export interface WorkingView {
  readonly title: Text;
  readonly inputs: readonly { readonly label: Text; readonly value: Text; readonly note?: Text }[];
  readonly steps: readonly { readonly label: Text; readonly formula: string; readonly value: Text }[];
  readonly sources: readonly { readonly title: string; readonly where: string; readonly status: Text }[];
  readonly cautions: readonly Text[];
}

/** A number with − and +; the value can be typed too. */
export interface Stepper {
  readonly id: string;
  readonly label: Text;
  /** Where the number belongs to one side: both words (hand or down side, and working side). */
  readonly notes?: readonly Text[];
  readonly side?: SideName;
  readonly value: number;
  readonly unit: Text;
  readonly less: number;
  readonly more: number;
  readonly do: string;
  readonly args?: { readonly [name: string]: unknown };
  /** Whether the number stays or follows the others; touched, the other way. */
  readonly pin?: Action;
  readonly error?: Text;
}

export interface PlanItem {
  readonly title: Text;
  readonly lines: readonly Text[];
  readonly why?: readonly Text[];
  readonly steppers: readonly Stepper[];
  readonly also?: readonly Row[];
  readonly course?: Course;
  readonly actions?: readonly Action[];
}

/** How tired a working side is: fractions of the half width. */
export interface CourseBar {
  readonly low: number;
  readonly bar: number;
  readonly high: number;
}

/** One set of one side: a bar for each repetition, and what is left at its end. */
export interface CourseSide {
  readonly bars: readonly CourseBar[];
  readonly reserve: Text;
  readonly care?: boolean;
}

export interface CourseSet {
  readonly label: Text;
  readonly left?: CourseSide;
  readonly right?: CourseSide;
}

/** What an exercise is predicted to do to each working side. */
export interface Course {
  readonly title: Text;
  /** Hand or down side, and working side, of each half. */
  readonly left: readonly Text[];
  readonly right: readonly Text[];
  readonly sets: readonly CourseSet[];
}

export interface PlanView extends Base {
  readonly screen: 'plan';
  readonly finding: Text;
  readonly lines?: readonly Text[];
  readonly care?: Care;
  readonly items: readonly PlanItem[];
  readonly working?: WorkingView;
  readonly workings?: readonly WorkingView[];
  readonly fields?: readonly Field[];
  readonly actions: readonly Action[];
}

export interface InviteView extends Base {
  readonly screen: 'invite';
  readonly finding: Text;
  readonly lines: readonly Text[];
  /** Rows of 0 and 1. */
  readonly qr?: readonly string[];
  readonly link?: string;
  readonly code?: string;
  readonly actions: readonly Action[];
}

/** Drawing of a posture in the frontal plane; metres, x to the right as seen, y up. */
export interface Figure {
  readonly label: Text;
  readonly lines: readonly { readonly x1: number; readonly y1: number; readonly x2: number; readonly y2: number; readonly part: string }[];
  readonly supports: readonly { readonly x: number; readonly y: number; readonly newtons: number }[];
  readonly weight?: { readonly x: number; readonly y: number; readonly newtons: number };
  readonly works: SideName;
  readonly notes: readonly Text[];
}

export interface Interval {
  readonly kind: 'ready' | 'hold' | 'rest' | 'switch' | 'carry';
  readonly fromMS: number;
  readonly toMS: number;
  readonly label: Text;
  readonly count?: Text;
}

export interface Cue {
  readonly atMS: number;
  readonly channel: 'beep' | 'say' | 'buzz' | 'show' | 'flash';
  readonly tone?: string;
  readonly text?: Text;
}

/** A led session: what to do now. */
export interface WorkView extends Base {
  readonly screen: 'work';
  readonly phase: 'ready' | 'series' | 'carry' | 'rest' | 'unsure';
  readonly finding: Text;
  readonly side?: SideName;
  /** Hand or down side, and working side. */
  readonly notes: readonly Text[];
  readonly lines: readonly Text[];
  readonly count?: Text;
  readonly figure?: Figure;
  readonly steppers?: readonly Stepper[];
  readonly since?: Reading;
  readonly intervals?: readonly Interval[];
  readonly cues?: readonly Cue[];
  /** Sent once when the last interval has ended. */
  readonly atEnd?: Action;
  readonly actions: readonly Action[];
}

export interface NoticeView extends Base {
  readonly screen: 'notice';
  readonly finding: Text;
  readonly lines: readonly Text[];
  readonly field?: Field;
  readonly actions: readonly Action[];
}

export type View =
  | ListView
  | FormView
  | TestView
  | ResultView
  | PlanView
  | InviteView
  | WorkView
  | NoticeView;
