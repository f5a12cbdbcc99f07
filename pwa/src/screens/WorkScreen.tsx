import { useEffect } from 'preact/hooks';
import { Digits } from '../components/Digits';
import { FigureDrawing, NotedFigure } from '../components/FigureDrawing';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Say } from '../components/Say';
import { Series } from '../components/Series';
import { cuesKey, standing } from '../components/standing';
import { SideNotes } from '../components/SideNotes';
import { Steppers } from '../components/Steppers';
import { useTicking, wholeSeconds } from '../components/ticking';
import { repeatsTitle } from '../components/Head';
import type { WorkView } from '../views';

type Props = { readonly view: WorkView } & Ports;

/** A led session: what to do now, on which side, and for how long. */
export function WorkScreen({ view, send, go, ticker, sound }: Props) {
  const { cues, since, intervals } = view;
  useEffect(() => {
    if (!cues || !since) return undefined;
    sound.play(cues, since);
    return () => sound.stop();
  }, [cuesKey(cues, since)]);
  return (
    <div class="sheet">
      <div class="count">
        {!repeatsTitle(view.head, view.finding) && <Finding text={view.finding} />}
        {view.count && <p class="strong"><Say text={view.count} /></p>}
      </div>
      {view.phase === 'series' && intervals && since
        ? <Series view={view} intervals={intervals} send={send} ticker={ticker} />
        : <Still view={view} send={send} ticker={ticker} />}
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </div>
  );
}

function Still({ view, send, ticker }: Pick<Props, 'view' | 'send' | 'ticker'>) {
  const { intervals } = view;
  const seconds = useTicking(ticker, view.since, (elapsedMS) =>
    intervals ? standing(intervals, [], elapsedMS).leftS : wholeSeconds(elapsedMS));
  const unit = intervals ? 'page.seconds_left' : 'page.seconds';
  return (
    <>
      {seconds !== undefined && (
        <div class="elapsed" role="timer">
          <Digits seconds={seconds}><Say text={{ k: unit, a: { n: seconds } }} /></Digits>
        </div>
      )}
      {view.figure?.weight
        ? <NotedFigure figure={view.figure} notes={view.notes} />
        : (
          <>
            {view.figure && <FigureDrawing figure={{ ...view.figure, notes: [] }} />}
            <SideNotes side={view.side} notes={view.notes} />
          </>
        )}
      {view.steppers && <Steppers steppers={view.steppers} send={send} />}
      <Lines lines={view.lines} />
    </>
  );
}
