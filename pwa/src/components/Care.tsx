import type { Care as CareView } from '../views';
import { Acts } from './Act';
import { Lines } from './Lines';
import type { Ports } from './ports';
import { Say } from './Say';

interface Props extends Pick<Ports, 'send' | 'go'> {
  readonly care: CareView;
}

/** Pain and red flags: said in words on the amber ground, with whom to ask. */
export function Care({ care, send, go }: Props) {
  return (
    <section class="care">
      <h2><Say text={care.title} /></h2>
      <Lines lines={care.lines} />
      <Acts actions={care.actions ?? []} send={send} go={go} />
    </section>
  );
}
