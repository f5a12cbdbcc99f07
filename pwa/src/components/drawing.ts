import type { Figure } from '../views';

/** A point on the drawing in viewBox units (centimetres), y downward. */
export interface Spot {
  readonly x: number;
  readonly y: number;
}

export interface Stroke {
  readonly from: Spot;
  readonly to: Spot;
}

/** A figure placed on its drawing. */
export interface Drawing {
  readonly width: number;
  readonly height: number;
  readonly limbs: readonly Stroke[];
  readonly head?: Spot & { readonly r: number };
  /** The working flank; `off` is the way outward. */
  readonly flank?: Stroke & { readonly off: Spot };
  readonly supports: readonly (Spot & { readonly newtons: number })[];
  readonly weight?: Spot & { readonly newtons: number };
  /** Where the body's own upright line stands; absent for a lying figure. */
  readonly plumbX?: number;
}

/** Room around the figure for arrows and their words, in centimetres. */
const margin = { side: 44, top: 8, bottom: 46 };

/** Places a figure: metres with y up become centimetres with y down, with room for the arrows. */
export function draw(figure: Figure): Drawing {
  const ends = figure.lines.flatMap((l) => [[l.x1, l.y1], [l.x2, l.y2]] as const);
  const xs = [...ends.map(([x]) => x), ...figure.supports.map((s) => s.x)];
  const ys = [...ends.map(([, y]) => y), ...figure.supports.map((s) => s.y)];
  const lowX = Math.min(...xs);
  const highY = Math.max(...ys);
  const place = (x: number, y: number): Spot => ({
    x: (x - lowX) * 100 + margin.side,
    y: (highY - y) * 100 + margin.top,
  });
  const part = (name: string) => {
    const line = figure.lines.find((l) => l.part === name);
    return line && { from: place(line.x1, line.y1), to: place(line.x2, line.y2) };
  };
  const [head, trunk] = [part('head'), part('trunk')];
  const upright =
    trunk && Math.abs(trunk.to.y - trunk.from.y) > Math.abs(trunk.to.x - trunk.from.x);
  const weight = figure.weight && {
    ...place(figure.weight.x, figure.weight.y),
    newtons: figure.weight.newtons,
  };
  return {
    width: (Math.max(...xs) - lowX) * 100 + 2 * margin.side,
    height: (highY - Math.min(...ys)) * 100 + margin.top + margin.bottom,
    limbs: figure.lines
      .filter((l) => l.part !== 'head')
      .map((l) => ({ from: place(l.x1, l.y1), to: place(l.x2, l.y2) })),
    supports: figure.supports.map((s) => ({ ...place(s.x, s.y), newtons: s.newtons })),
    ...(head && { head: circle(head) }),
    ...(trunk && { flank: beside(trunk, weight, figure) }),
    ...(weight && { weight }),
    ...(trunk && upright && { plumbX: trunk.from.x }),
  };
}

function circle({ from, to }: Stroke) {
  const r = Math.hypot(to.x - from.x, to.y - from.y) / 2;
  return { x: (from.x + to.x) / 2, y: (from.y + to.y) / 2, r };
}

/**
 * The working flank, a little away from the trunk: below it in a lying figure, across from the
 * weight in an upright one that carries, else on the side the figure says.
 */
function beside(trunk: Stroke, weight: Spot | undefined, figure: Figure) {
  const along = { x: trunk.to.x - trunk.from.x, y: trunk.to.y - trunk.from.y };
  const length = Math.hypot(along.x, along.y) || 1;
  let off = { x: -along.y / length, y: along.x / length };
  const lying = Math.abs(along.x) > Math.abs(along.y);
  const wantLeft = weight ? weight.x > trunk.from.x : figure.works === 'left';
  if (lying ? off.y < 0 : (off.x < 0) !== wantLeft) off = { x: -off.x, y: -off.y };
  const away = 13;
  const at = (share: number): Spot => ({
    x: trunk.from.x + along.x * share + off.x * away,
    y: trunk.from.y + along.y * share + off.y * away,
  });
  return { from: at(0.18), to: at(0.82), off };
}
