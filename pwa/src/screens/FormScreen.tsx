import { Care } from '../components/Care';
import { Fields } from '../components/Fields';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Section } from '../components/Row';
import { Sheet } from '../components/Sheet';
import type { FormView } from '../views';

/** Questions and one way on; what was typed is kept when a field is refused. */
export function FormScreen({ view, send, go }: { readonly view: FormView } & Ports) {
  return (
    <Sheet fields={view.fields} actions={view.actions} send={send}>
      <Finding text={view.finding} />
      <Lines lines={view.lines ?? []} />
      {view.care && <Care care={view.care} send={send} go={go} />}
      {view.sections?.map((section, i) => (
        <Section key={i} section={section} send={send} go={go} />
      ))}
      <Fields fields={view.fields} />
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </Sheet>
  );
}
