import type { Bars as BarsView, Side, SideName } from '../views';
import { direction, numeral } from '../words';
import { Lines } from './Lines';
import { Plumb } from './Plumb';
import { Say } from './Say';

export const percent = (fraction: number) => `${fraction * 100}%`;

/** The shape of a row: words beside it say the same, so it is not read aloud. */
export function MiniBars({ bars }: { readonly bars: BarsView }) {
  return (
    <span class="mini" dir="ltr" aria-hidden="true">
      <span class="bed l"><i class="bar l" style={{ width: percent(bars.left) }} /></span>
      <span class="bed r"><i class="bar r" style={{ width: percent(bars.right) }} /></span>
      <Plumb />
    </span>
  );
}

interface Props {
  readonly left: Side | undefined;
  readonly right: Side | undefined;
}

/** Both holds, growing outward from the plumb line; left stays left in every language. */
export function HoldBars({ left, right }: Props) {
  return (
    <div class="pair hold-bars" dir="ltr">
      <HoldBar side={left} name="left" />
      <HoldBar side={right} name="right" />
      <Plumb bob />
    </div>
  );
}

function HoldBar({ side, name }: { readonly side: Side | undefined; readonly name: SideName }) {
  const place = name === 'left' ? 'l' : 'r';
  if (!side) return <div class={`column ${place}`} />;
  return (
    <div class={`column ${place}`}>
      <div dir={direction()}>
        <p class="small at-least">{side.atLeast && <Say text={{ k: 'page.at_least' }} />}</p>
        <p class="figure-number" dir="ltr">
          {numeral(side.heldS)}<small> <Say text={{ k: 'page.seconds_short' }} /></small>
        </p>
      </div>
      <div class="bed" aria-hidden="true">
        <i
          class={`bar ${place}${side.atLeast ? ' open' : ''}`}
          style={{ width: percent(side.bar) }}
        />
        {side.low !== undefined && side.high !== undefined && (
          <i class="whisker" style={whisker(name, side.low, side.high)} />
        )}
      </div>
      <div dir={direction()}><Lines lines={side.notes} name="small" /></div>
    </div>
  );
}

/** The span of an uncertain end, as a style. */
export function whisker(name: SideName, low: number, high: number) {
  const width = percent(high - low);
  return name === 'left' ? { right: percent(low), width } : { left: percent(low), width };
}
