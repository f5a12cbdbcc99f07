import { Care } from '../components/Care';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import type { Ports } from '../components/ports';
import { Section } from '../components/Row';
import { Working } from '../components/Working';
import type { ListView } from '../views';

/** Coach's home, a person's page, the sync page, a client's history. */
export function ListScreen({ view, send, go }: { readonly view: ListView } & Ports) {
  return (
    <div class="sheet">
      <Finding text={view.finding} />
      {view.care && <Care care={view.care} send={send} go={go} />}
      {view.sections.map((section, i) => (
        <Section key={i} section={section} send={send} go={go} />
      ))}
      {(view.workings ?? []).map((w, i) => <Working key={i} working={w} named />)}
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </div>
  );
}
