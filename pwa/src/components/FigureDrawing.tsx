import type { ComponentChildren } from 'preact';
import type { Figure, Text } from '../views';
import { direction, t } from '../words';
import { draw, type Drawing, type Spot } from './drawing';
import { Lines } from './Lines';

const arrow = 24;

interface Props {
  readonly figure: Figure;
}

/**
 * A posture drawn from the segment model. The working side is the only magenta but the line;
 * forces are arrows with their newtons.
 */
export function FigureDrawing({ figure }: Props) {
  return (
    <figure class="posture">
      <Body figure={figure} d={draw(figure)} />
      {figure.notes.length > 0 && (
        <figcaption><Lines lines={figure.notes} name="small" /></figcaption>
      )}
    </figure>
  );
}

interface NotedProps extends Props {
  /** Hand, then working side. */
  readonly notes: readonly Text[];
}

/** A standing posture, its words beside it: the working side on its half, the hand across. */
export function NotedFigure({ figure, notes }: NotedProps) {
  const d = draw(figure);
  const worksLeft = d.flank !== undefined && d.flank.off.x < 0;
  const [hand, ...works] = notes;
  return (
    <figure class="posture noted" dir="ltr">
      <Note place={worksLeft ? 'l works' : 'r works'}>
        <i class={worksLeft ? 'bar l' : 'bar r'} />
        <Lines lines={works} />
      </Note>
      <Body figure={figure} d={d} />
      <Note place={worksLeft ? 'r' : 'l'}>{hand && <Lines lines={[hand]} />}</Note>
    </figure>
  );
}

interface NoteProps {
  readonly place: string;
  readonly children: ComponentChildren;
}

function Note({ place, children }: NoteProps) {
  return <div class={`note ${place}`} dir={direction()}>{children}</div>;
}

function Body({ figure, d }: Props & { readonly d: Drawing }) {
  return (
    <svg
      viewBox={`0 0 ${d.width} ${d.height}`} role="img" aria-label={t(figure.label)}
      class={d.plumbX === undefined ? 'lying' : 'upright'} direction="ltr"
    >
      {d.plumbX !== undefined && (
        <line class="axis" x1={d.plumbX} x2={d.plumbX} y1={0} y2={d.height} />
      )}
      {d.limbs.map(({ from, to }, i) => (
        <line key={i} class="limb" x1={from.x} y1={from.y} x2={to.x} y2={to.y} />
      ))}
      {d.head && <circle class="skull" cx={d.head.x} cy={d.head.y} r={d.head.r} />}
      {d.flank && <path class="flank" d={bulge(d.flank.from, d.flank.to, d.flank.off)} />}
      {d.supports.map((s, i) => (
        <Arrow
          key={i} at={{ x: s.x, y: s.y + 6 }} up newtons={s.newtons} before={s.x < d.width / 2}
        />
      ))}
      {d.weight && (
        <>
          <path class="load" d={`M${d.weight.x - 6} ${d.weight.y}h12l5 20h-22z`} />
          <Arrow
            at={{ x: d.weight.x, y: d.weight.y + 24 }} newtons={d.weight.newtons}
            before={d.weight.x < d.width / 2}
          />
        </>
      )}
    </svg>
  );
}

function bulge(from: Spot, to: Spot, off: Spot): string {
  const out = 7;
  const middle = { x: (from.x + to.x) / 2 + off.x * out, y: (from.y + to.y) / 2 + off.y * out };
  return `M${from.x} ${from.y}Q${middle.x} ${middle.y} ${to.x} ${to.y}`;
}

interface ArrowProps {
  readonly at: Spot;
  readonly up?: boolean;
  readonly newtons: number;
  /** The words stand left of the arrow. */
  readonly before: boolean;
}

/** A force below its point: pointing up to a support, or down from a weight. */
function Arrow({ at, up = false, newtons, before }: ArrowProps) {
  const tip = up ? at.y : at.y + arrow;
  const wing = up ? tip + 7 : tip - 7;
  return (
    <>
      <path
        class="force"
        d={`M${at.x} ${at.y}v${arrow}M${at.x - 6} ${wing}L${at.x} ${tip}L${at.x + 6} ${wing}`}
      />
      <text
        class="newtons" x={before ? at.x - 8 : at.x + 8} y={at.y + arrow - 4}
        text-anchor={before ? 'end' : 'start'}
      >
        {t({ k: 'page.newtons', a: { n: Math.round(newtons) } })}
      </text>
    </>
  );
}
