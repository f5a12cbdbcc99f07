import { useEffect } from 'preact/hooks';
import { Act } from '../components/Act';
import { Care } from '../components/Care';
import { Clock } from '../components/Digits';
import { Field, Fields } from '../components/Fields';
import { FigureDrawing } from '../components/FigureDrawing';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Say } from '../components/Say';
import { Sheet } from '../components/Sheet';
import { cuesKey } from '../components/standing';
import { secondsUntil, useTicking } from '../components/ticking';
import { TimingHalves } from '../components/TimingHalves';
import type { TestFoot, TestView } from '../views';

type Props = { readonly view: TestView } & Ports;

/** The side-hold test: how to set it up, then one half of the screen per side. */
export function TestScreen(props: Props) {
  return props.view.phase === 'setup' ? <SetUp {...props} /> : <Timing {...props} />;
}

function SetUp({ view, send, go }: Props) {
  const actions = view.actions ?? [];
  return (
    <Sheet fields={view.fields ?? []} actions={actions} send={send}>
      {view.finding && <Finding text={view.finding} />}
      {view.care && <Care care={view.care} send={send} go={go} />}
      {view.figure && <FigureDrawing figure={view.figure} />}
      <Lines lines={view.lines ?? []} />
      <Fields fields={view.fields ?? []} />
      <Foot actions={actions} said={view.said} send={send} go={go} />
    </Sheet>
  );
}

function Timing({ view, send, go, ticker, sound }: Props) {
  const cues = view.foot?.cues;
  const from = view.foot?.cuesFrom;
  useEffect(() => {
    if (!cues || !from) return undefined;
    sound.play(cues, from);
    return () => sound.stop();
  }, [cuesKey(cues, from)]);
  return (
    <Sheet fields={view.foot?.field ? [view.foot.field] : []} actions={[]} send={send}>
      {view.halves && <TimingHalves halves={view.halves} send={send} ticker={ticker} />}
      {view.foot && <Below foot={view.foot} send={send} go={go} ticker={ticker} />}
      <Foot actions={view.actions ?? []} said={view.said} send={send} go={go} />
    </Sheet>
  );
}

interface BelowProps extends Pick<Ports, 'send' | 'go' | 'ticker'> {
  readonly foot: TestFoot;
}

function Below({ foot, send, go, ticker }: BelowProps) {
  const left = useTicking(ticker, foot.until, secondsUntil);
  return (
    <div class="below">
      {(foot.title || left !== undefined) && (
        <p class="below-title">
          {foot.title && <b><Say text={foot.title} /></b>}
          {left !== undefined && <Clock seconds={left} />}
        </p>
      )}
      {foot.field && <Field field={foot.field} />}
      {foot.chips.length > 0 && (
        <div class="chips">
          {foot.chips.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
        </div>
      )}
    </div>
  );
}
