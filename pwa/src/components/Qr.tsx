interface Props {
  /** Rows of 0 and 1. */
  readonly rows: readonly string[];
  readonly label: string;
}

/** The quiet zone that ISO/IEC 18004 asks for around a square code, in modules. */
const quiet = 4;

/** A square code, black on white in every scheme so that it can be scanned. */
export function Qr({ rows, label }: Props) {
  const size = rows.length + 2 * quiet;
  const path = rows.map((row, y) => modules(row, y + quiet)).join('');
  return (
    <svg class="qr" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label}>
      <rect width={size} height={size} fill="#fff" />
      <path d={path} fill="#000" shape-rendering="crispEdges" />
    </svg>
  );
}

function modules(row: string, y: number): string {
  return [...row].map((bit, x) => (bit === '1' ? `M${x + quiet} ${y}h1v1h-1z` : '')).join('');
}
