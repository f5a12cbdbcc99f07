import type { Action } from '../views';
import { Act } from './Act';
import type { Ports } from './ports';

interface Props extends Pick<Ports, 'send' | 'go'> {
  readonly actions: readonly Action[];
}

/** The actions of a screen: the lesser ones above, the main one last, where the thumb is. */
export function Foot({ actions, send, go }: Props) {
  const main = actions.filter((a) => a.kind === 'main');
  const other = actions.filter((a) => a.kind !== 'main');
  return (
    <>
      {other.length > 0 && (
        <div class="others">
          {other.map((a) => <Act key={a.label.k} action={a} send={send} go={go} />)}
        </div>
      )}
      {main.length > 0 && (
        <div class="foot">
          {main.map((a) => <Act key={a.label.k} action={a} send={send} go={go} />)}
        </div>
      )}
    </>
  );
}
