import { useEffect } from 'preact/hooks';
import { Digits } from '../components/Digits';
import { FigureDrawing } from '../components/FigureDrawing';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Say } from '../components/Say';
import { Series } from '../components/Series';
import { cuesKey } from '../components/standing';
import { SideNotes } from '../components/SideNotes';
import { Steppers } from '../components/Steppers';
import { useTicking, wholeSeconds } from '../components/ticking';
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
      <Finding text={view.finding} />
      {view.count && <p class="small"><Say text={view.count} /></p>}
      {intervals && since
        ? <Series view={view} intervals={intervals} send={send} ticker={ticker} />
        : <Still view={view} send={send} ticker={ticker} />}
      <Foot actions={view.actions} send={send} go={go} />
    </div>
  );
}

function Still({ view, send, ticker }: Pick<Props, 'view' | 'send' | 'ticker'>) {
  const elapsedS = useTicking(ticker, view.since, wholeSeconds);
  return (
    <>
      {view.figure && <FigureDrawing figure={view.figure} />}
      <SideNotes side={view.side} notes={view.notes} />
      {elapsedS !== undefined && (
        <div class="elapsed" role="timer">
          <Digits seconds={elapsedS}><Say text={{ k: 'page.seconds', a: { n: elapsedS } }} /></Digits>
        </div>
      )}
      {view.steppers && <Steppers steppers={view.steppers} send={send} />}
      <Lines lines={view.lines} />
    </>
  );
}
