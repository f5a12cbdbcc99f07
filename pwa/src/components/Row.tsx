import type { Row as RowView, Section as SectionView } from '../views';
import { Acts, Link } from './Act';
import { MiniBars } from './Bars';
import type { Ports } from './ports';
import { Say } from './Say';
import { Trend } from './Trend';
import { Working } from './Working';

type Ways = Pick<Ports, 'send' | 'go'>;

/** A sentence on the left, the reason or the shape on the right. */
export function Row({ row, send, go }: { readonly row: RowView } & Ways) {
  const inner = (
    <>
      <span class="sentence">
        {row.name !== undefined && <b><bdi>{row.name}</bdi></b>}
        {row.title && <b><Say text={row.title} /></b>}
        {row.lines.map((line, i) => <span key={i}><Say text={line} /></span>)}
      </span>
      {row.reason && <em><Say text={row.reason} /></em>}
      {row.bars && <MiniBars bars={row.bars} />}
    </>
  );
  return (
    <li class={row.care ? 'row-item care' : 'row-item'}>
      {row.route === undefined
        ? <div class="row">{inner}</div>
        : <Link route={row.route} go={go} name="row">{inner}</Link>}
      {row.working && <Working working={row.working} />}
      <Acts actions={row.actions ?? []} send={send} go={go} />
    </li>
  );
}

/** Rows under a heading. */
export function Section({ section, send, go }: { readonly section: SectionView } & Ways) {
  return (
    <section class="section">
      {section.title && <h2><Say text={section.title} /></h2>}
      {section.note && <p class="small"><Say text={section.note} /></p>}
      {section.trend && <Trend trend={section.trend} />}
      {section.rows.length > 0 && (
        <ul class="rows">
          {section.rows.map((row, i) => <Row key={i} row={row} send={send} go={go} />)}
        </ul>
      )}
      {section.rows.length === 0 && section.empty && (
        <p class="small"><Say text={section.empty} /></p>
      )}
    </section>
  );
}
