import { direction } from '../words';
import type { Action, Half, SideName } from '../views';
import { Digits } from './Digits';
import { Plumb } from './Plumb';
import type { Ports } from './ports';
import { usePress } from './press';
import { Say } from './Say';
import { useTicking, wholeSeconds } from './ticking';

interface Props extends Pick<Ports, 'send' | 'ticker'> {
  readonly halves: readonly [Half, Half] | readonly [Half];
}

/**
 * One half of the screen per side, each a target as a whole. The first is drawn left in every
 * language, for the body has its left where it has it. What changed is announced; time is not.
 */
export function TimingHalves({ halves, send, ticker }: Props) {
  const [one, other] = halves;
  const now = halves.find((h) => h.state === 'running') ?? halves.find((h) => h.state === 'next');
  return (
    <div class={other ? 'halves' : 'halves whole'} dir={other ? 'ltr' : undefined}>
      <TimingHalf half={one} place="left" send={send} ticker={ticker} />
      {other && <TimingHalf half={other} place="right" send={send} ticker={ticker} />}
      {other && <Plumb bob />}
      <p class="unseen" role="status" dir={direction()}>
        {now && <><Say text={now.title} />. {now.act && <Say text={now.act} />}</>}
      </p>
    </div>
  );
}

interface HalfProps extends Pick<Ports, 'send' | 'ticker'> {
  readonly half: Half;
  readonly place: SideName;
}

function TimingHalf({ half, place, send, ticker }: HalfProps) {
  const running = useTicking(ticker, half.since, wholeSeconds);
  const press = usePress(() => {
    if (half.do) send(asAction(half));
  });
  const shape = `half ${place === 'left' ? 'l' : 'r'} ${half.state}`;
  const face = (
    <span class="face" dir={direction()}>
      <span>
        <span class="side"><Say text={half.title} /></span>
        {half.notes.map((note, i) => <span key={i} class="note"><Say text={note} /></span>)}
      </span>
      <Held half={half} seconds={half.state === 'running' ? running : half.heldS} />
      <span class="act-word">{half.act && <Say text={half.act} />}</span>
    </span>
  );
  if (!half.do) return <div class={shape}>{face}</div>;
  return <button type="button" class={shape} {...press}>{face}</button>;
}

function Held({ half, seconds }: { readonly half: Half; readonly seconds: number | undefined }) {
  if (seconds === undefined) return <span class="digits-box"><Result half={half} /></span>;
  return (
    <span aria-hidden={half.state === 'running' ? 'true' : undefined}>
      <Digits seconds={seconds}>
        <Say text={{ k: 'page.seconds', a: { n: seconds } }} />
        <Result half={half} />
      </Digits>
    </span>
  );
}

function Result({ half }: { readonly half: Half }) {
  return half.result ? <span class="held-result"><Say text={half.result} /></span> : null;
}

function asAction(half: Half): Action {
  return {
    label: half.act ?? half.title,
    ...(half.do !== undefined && { do: half.do }),
    ...(half.args && { args: half.args }),
  };
}
