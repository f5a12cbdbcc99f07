import type { TrendMark, TrendView } from '../views';
import { t } from '../words';
import { Plumb } from './Plumb';
import { Say } from './Say';

const percent = (fraction: number) => `${fraction * 100}%`;

/**
 * Both sides through time, from the oldest test on top down to the latest: the band in which the
 * side stands, its middle, and a mark for each hold. The rows below say the same in words.
 */
export function Trend({ trend }: { readonly trend: TrendView }) {
  return (
    <figure class="trend" role="img" aria-label={t(trend.label)}>
      <p class="small" aria-hidden="true"><Say text={trend.first} /></p>
      <div class="trend-sides" dir="ltr" aria-hidden="true">
        <Side marks={trend.left} place="l" />
        <Side marks={trend.right} place="r" />
        <Plumb bob />
      </div>
      <p class="small" aria-hidden="true"><Say text={trend.last} /></p>
    </figure>
  );
}

function Side({ marks, place }: { readonly marks: readonly TrendMark[]; readonly place: 'l' | 'r' }) {
  const flip = place === 'l' ? 'scale(-1 1)' : undefined;
  const point = (across: number, mark: TrendMark) => `${across},${mark.at}`;
  const band = [...marks.map((m) => point(m.high, m)), ...[...marks].reverse().map((m) => point(m.low, m))];
  return (
    <div class={`bed ${place}`}>
      <svg viewBox="0 0 1 1" preserveAspectRatio="none">
        <g transform={flip} transform-origin="0.5 0.5">
          <polygon class="band" points={band.join(' ')} />
          <polyline class="middle" points={marks.map((m) => point(m.mid, m)).join(' ')} />
        </g>
      </svg>
      {marks.map((m, i) => m.tested !== undefined && (
        <i
          key={i} class={m.atLeast ? 'mark open' : 'mark'}
          style={{ top: percent(m.at), [place === 'l' ? 'right' : 'left']: percent(m.tested) }}
        />
      ))}
    </div>
  );
}
