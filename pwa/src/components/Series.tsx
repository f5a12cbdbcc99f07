import { useEffect, useRef } from 'preact/hooks';
import { direction } from '../words';
import type { Cue, Interval, SideName, WorkView } from '../views';
import { Digits } from './Digits';
import { Lines } from './Lines';
import { Plumb } from './Plumb';
import type { Ports } from './ports';
import { Say } from './Say';
import { standing } from './standing';
import { useTicking } from './ticking';

interface Props extends Pick<Ports, 'send' | 'ticker'> {
  readonly view: WorkView;
  readonly intervals: readonly Interval[];
}

const noCues: readonly Cue[] = [];

/**
 * Holds and rests as they run. The working side's half carries the time and is filled while a hold
 * or carry runs; the other half stays empty, so that no words about this side stand on that one.
 */
export function Series({ view, intervals, send, ticker }: Props) {
  const cues = view.cues ?? noCues;
  const key = useTicking(ticker, view.since, (elapsedMS) => {
    const s = standing(intervals, cues, elapsedMS);
    return `${s.index} ${s.leftS} ${s.cue}`;
  });
  const ended = useRef('');
  const [index, leftS, cue] = (key ?? '0 0 -1').split(' ').map(Number) as [number, number, number];
  const start = `${view.since?.run} ${view.since?.monoMS}`;
  useEffect(() => {
    if (index < intervals.length || !view.atEnd || ended.current === start) return;
    ended.current = start;
    send(view.atEnd);
  }, [index, intervals.length, start]);
  const interval = intervals[Math.min(index, intervals.length - 1)];
  if (!interval) return null;
  const next = intervals[index + 1];
  const shown = cues[cue]?.text;
  return (
    <>
      <div class={view.side ? 'halves' : 'halves whole'} dir="ltr">
        <Panel view={view} interval={interval} seconds={leftS} place={view.side} />
        {view.side && <Plumb bob />}
        <p class="unseen" role="status" dir={direction()}><Say text={interval.label} /></p>
      </div>
      <div class="below now">
        <p class="finding">{shown && <Say text={shown} />}</p>
        <Lines lines={view.lines} name="small" />
        {next && <p class="small"><Say text={{ k: 'page.then', a: { next: next.label } }} /></p>}
      </div>
    </>
  );
}

interface PanelProps {
  readonly view: WorkView;
  readonly interval: Interval;
  readonly seconds: number;
  readonly place: SideName | undefined;
}

function Panel({ view, interval, seconds, place }: PanelProps) {
  const busy = interval.kind === 'hold' || interval.kind === 'carry';
  const side = place === 'left' ? 'l' : place === 'right' ? 'r' : '';
  return (
    <div class={`half panel ${side} ${busy ? 'running' : ''}`}>
      <div class="face" dir={direction()}>
        <div>
          <p class="side"><Say text={interval.label} /></p>
          {view.notes.map((note, i) => <p key={i} class="note"><Say text={note} /></p>)}
        </div>
        <div role="timer">
          <Digits seconds={seconds}>
            <Say text={{ k: 'page.seconds_left', a: { n: seconds } }} />
          </Digits>
        </div>
        <p class="act-word">{interval.count && <Say text={interval.count} />}</p>
      </div>
    </div>
  );
}
