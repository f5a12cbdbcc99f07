import type { Figure } from '../views';
import { t } from '../words';
import { draw, type Spot } from './drawing';
import { Lines } from './Lines';

const arrow = 24;

/**
 * A posture drawn from the segment model. The working side is the only magenta but the line;
 * forces are arrows with their newtons.
 */
export function FigureDrawing({ figure }: { readonly figure: Figure }) {
  const d = draw(figure);
  return (
    <figure class="posture">
      <svg
        viewBox={`0 0 ${d.width} ${d.height}`} role="img" aria-label={t(figure.label)}
        class={d.plumbX === undefined ? 'lying' : 'upright'} dir="ltr"
      >
        {d.plumbX !== undefined && (
          <line class="axis" x1={d.plumbX} x2={d.plumbX} y1={0} y2={d.height} />
        )}
        {d.limbs.map(({ from, to }) => (
          <line class="limb" x1={from.x} y1={from.y} x2={to.x} y2={to.y} />
        ))}
        {d.head && <circle class="skull" cx={d.head.x} cy={d.head.y} r={d.head.r} />}
        {d.flank && <path class="flank" d={curve(d.flank.from, d.flank.to)} />}
        {d.supports.map((s) => <Arrow at={{ x: s.x, y: s.y + 6 }} up newtons={s.newtons} />)}
        {d.weight && (
          <>
            <path class="load" d={`M${d.weight.x - 6} ${d.weight.y}h12l5 20h-22z`} />
            <Arrow at={{ x: d.weight.x, y: d.weight.y + 24 }} newtons={d.weight.newtons} />
          </>
        )}
      </svg>
      {figure.notes.length > 0 && (
        <figcaption><Lines lines={figure.notes} name="small" /></figcaption>
      )}
    </figure>
  );
}

function curve(from: Spot, to: Spot): string {
  return `M${from.x} ${from.y}L${to.x} ${to.y}`;
}

interface ArrowProps {
  readonly at: Spot;
  readonly up?: boolean;
  readonly newtons: number;
}

/** A force below its point: pointing up to a support, or down from a weight. */
function Arrow({ at, up = false, newtons }: ArrowProps) {
  const tip = up ? at.y : at.y + arrow;
  const wing = up ? tip + 7 : tip - 7;
  return (
    <>
      <path
        class="force"
        d={`M${at.x} ${at.y}v${arrow}M${at.x - 6} ${wing}L${at.x} ${tip}L${at.x + 6} ${wing}`}
      />
      <text class="newtons" x={at.x + 9} y={at.y + arrow}>
        {t({ k: 'page.newtons', a: { n: Math.round(newtons) } })}
      </text>
    </>
  );
}
