import { Field } from '../components/Fields';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Sheet } from '../components/Sheet';
import type { NoticeView } from '../views';

/** One thing to know or to enter: joining, a second tab, a full phone. */
export function NoticeScreen({ view, send, go }: { readonly view: NoticeView } & Ports) {
  return (
    <Sheet fields={view.field ? [view.field] : []} actions={view.actions} send={send}>
      <Finding text={view.finding} />
      <Lines lines={view.lines} />
      {view.field && <Field field={view.field} />}
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </Sheet>
  );
}
