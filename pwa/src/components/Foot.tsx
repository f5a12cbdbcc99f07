import type { Action, View } from '../views';
import { Act } from './Act';
import type { Ports } from './ports';
import { Say } from './Say';

interface Props extends Pick<Ports, 'send' | 'go'> {
  readonly actions: readonly Action[];
  readonly said: View['said'];
}

/**
 * The actions of a screen, the lesser ones above and the main one last, where the thumb is; what
 * is for care is never scrolled away. What the last command did stands with them.
 */
export function Foot({ actions, said, send, go }: Props) {
  const main = actions.filter((a) => a.kind === 'main');
  const inFoot = main.length > 0 ? [...actions.filter((a) => a.kind === 'care'), ...main] : [];
  const other = actions.filter((a) => !inFoot.includes(a));
  return (
    <>
      {other.length > 0 && (
        <div class="others">
          {other.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
        </div>
      )}
      <div class={inFoot.length > 0 || said ? 'foot' : 'foot bare'}>
        <div class="said" role="status">
          {said && <p><Say text={said.text} /></p>}
          {said?.undo && <Act action={said.undo} send={send} go={go} />}
        </div>
        {inFoot.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
      </div>
    </>
  );
}
