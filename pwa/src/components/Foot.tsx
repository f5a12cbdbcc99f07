import type { Action, View } from '../views';
import { Act } from './Act';
import type { Ports } from './ports';
import { Say } from './Say';

interface Props extends Pick<Ports, 'send' | 'go'> {
  readonly actions: readonly Action[];
  readonly said: View['said'];
}

/**
 * The actions of a screen, the lesser ones above and the main one last, where the thumb is. What
 * the last command did stands with them, with the way back.
 */
export function Foot({ actions, said, send, go }: Props) {
  const main = actions.filter((a) => a.kind === 'main');
  const other = actions.filter((a) => a.kind !== 'main');
  return (
    <>
      {other.length > 0 && (
        <div class="others">
          {other.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
        </div>
      )}
      <div class={main.length > 0 || said ? 'foot' : 'foot bare'}>
        <div class="said" role="status">
          {said && <p><Say text={said.text} /></p>}
          {said?.undo && <Act action={said.undo} send={send} go={go} />}
        </div>
        {main.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
      </div>
    </>
  );
}
