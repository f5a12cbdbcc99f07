import { Acts } from '../components/Act';
import { Care } from '../components/Care';
import { Course } from '../components/Course';
import { Fields } from '../components/Fields';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Row } from '../components/Row';
import { Say } from '../components/Say';
import { Sheet } from '../components/Sheet';
import { Steppers } from '../components/Steppers';
import { Working } from '../components/Working';
import type { PlanItem, PlanView } from '../views';

/** What to do, how much of it on each side, and why; every number can be changed in place. */
export function PlanScreen({ view, send, go }: { readonly view: PlanView } & Ports) {
  return (
    <Sheet fields={view.fields ?? []} actions={view.actions} send={send}>
      <Finding text={view.finding} />
      <Lines lines={view.lines ?? []} />
      {view.care && <Care care={view.care} send={send} go={go} />}
      {view.items.map((item, i) => <Item key={i} item={item} send={send} go={go} />)}
      {view.working && <Working working={view.working} named />}
      {(view.workings ?? []).map((w, i) => <Working key={i} working={w} named />)}
      <Fields fields={view.fields ?? []} />
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </Sheet>
  );
}

interface ItemProps extends Pick<Ports, 'send' | 'go'> {
  readonly item: PlanItem;
}

function Item({ item, send, go }: ItemProps) {
  return (
    <section class="plan-item">
      <h2><Say text={item.title} /></h2>
      <Lines lines={item.lines} />
      <Steppers steppers={item.steppers} send={send} />
      {item.course && <Course course={item.course} />}
      {item.why && <div class="why"><Lines lines={item.why} name="small" /></div>}
      {item.also && (
        <ul class="rows">
          {item.also.map((row, i) => <Row key={i} row={row} send={send} go={go} />)}
        </ul>
      )}
      <Acts actions={item.actions ?? []} send={send} go={go} />
    </section>
  );
}
