import { HoldBars } from '../components/Bars';
import { Care } from '../components/Care';
import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Section } from '../components/Row';
import { Say } from '../components/Say';
import { Working } from '../components/Working';
import type { ResultView } from '../views';

/** Both sides of a test: unevenness is a shape before it is a number. */
export function ResultScreen({ view, send, go }: { readonly view: ResultView } & Ports) {
  return (
    <div class="sheet">
      <Finding text={view.finding} />
      <HoldBars left={view.left} right={view.right} />
      {view.care && <Care care={view.care} send={send} go={go} />}
      <div class="verdict">
        <p class="strong"><Say text={view.verdict} /></p>
        <Lines lines={view.detail} />
        {view.working && <Working working={view.working} />}
      </div>
      {view.sections.map((section, i) => (
        <Section key={i} section={section} send={send} go={go} />
      ))}
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </div>
  );
}
