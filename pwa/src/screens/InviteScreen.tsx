import { Finding } from '../components/Finding';
import { Foot } from '../components/Foot';
import { Lines } from '../components/Lines';
import type { Ports } from '../components/ports';
import { Qr } from '../components/Qr';
import { Say } from '../components/Say';
import type { InviteView } from '../views';
import { t } from '../words';

/** An invitation to scan, to type or to send. */
export function InviteScreen({ view, send, go }: { readonly view: InviteView } & Ports) {
  return (
    <div class="sheet invite">
      <Finding text={view.finding} />
      <Lines lines={view.lines} />
      {view.qr && <Qr rows={view.qr} label={t({ k: 'page.qr' })} />}
      {view.code !== undefined && (
        <p>
          <span class="small"><Say text={{ k: 'page.code' }} /></span>
          <code class="big-code" dir="ltr">{view.code}</code>
        </p>
      )}
      {view.link !== undefined && (
        <p>
          <span class="small"><Say text={{ k: 'page.link' }} /></span>
          <code class="address" dir="ltr">{view.link}</code>
        </p>
      )}
      <Foot actions={view.actions} said={view.said} send={send} go={go} />
    </div>
  );
}
