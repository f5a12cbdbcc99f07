import { useRef } from 'preact/hooks';
import type { Action } from '../views';
import { formValues } from './form';
import type { Ports } from './ports';
import { Say } from './Say';

/** A second tap on the same target sooner than this is a bounce of a wet finger, not a wish. */
const bounceMS = 400;

interface Props extends Pick<Ports, 'send' | 'go'> {
  readonly action: Action;
}

/**
 * One thing a person can ask for: a link to another screen, or a button that sends a command.
 * The main action of a form is its submit button, so that the form itself sends it.
 */
export function Act({ action, send, go }: Props) {
  const last = useRef(-bounceMS);
  const name = `act ${action.kind ?? 'plain'}`;
  if (action.route !== undefined && !action.do) {
    return (
      <Link route={action.route} go={go} name={name}>
        <span><Say text={action.label} /></span>
      </Link>
    );
  }
  if (action.form && action.kind === 'main') {
    return (
      <button type="submit" class={name} data-form><span><Say text={action.label} /></span></button>
    );
  }
  const tap = (event: MouseEvent & { readonly currentTarget: HTMLElement }) => {
    if (event.timeStamp - last.current < bounceMS) return;
    last.current = event.timeStamp;
    const form = action.form ? event.currentTarget.closest('form') : null;
    if (form) send(action, { values: formValues(form) });
    else send(action);
  };
  return (
    <button type="button" class={name} data-form={action.form} onClick={tap}>
      <span><Say text={action.label} /></span>
    </button>
  );
}

interface LinkProps extends Pick<Ports, 'go'> {
  readonly route: string;
  readonly name: string;
  readonly label?: string;
  readonly children: preact.ComponentChildren;
}

/** A link within the app; a tap with a modifier key stays the browser's. */
export function Link({ route, go, name, label, children }: LinkProps) {
  const tap = (event: MouseEvent) => {
    if (event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    go(route);
  };
  return <a class={name} href={route} aria-label={label} onClick={tap}>{children}</a>;
}

interface ActsProps extends Pick<Ports, 'send' | 'go'> {
  readonly actions: readonly Action[];
}

/** Actions that stand with what they belong to, in a row that wraps. */
export function Acts({ actions, send, go }: ActsProps) {
  if (actions.length === 0) return null;
  return (
    <div class="acts">
      {actions.map((a, i) => <Act key={i} action={a} send={send} go={go} />)}
    </div>
  );
}
