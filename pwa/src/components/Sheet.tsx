import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Action, Field } from '../views';
import { formValues } from './form';
import type { Ports } from './ports';

interface Props extends Pick<Ports, 'send'> {
  readonly fields: readonly Field[];
  readonly actions: readonly Action[];
  readonly children: ComponentChildren;
}

/**
 * The part of a screen below its head. With fields, or an action that sends them, it is a form: Enter sends the main action, and
 * after a refusal the first field in error gets the focus. What was typed stays in the fields.
 */
export function Sheet({ fields, actions, send, children }: Props) {
  const form = useRef<HTMLFormElement>(null);
  const sent = useRef(false);
  const refused = fields.some((f) => f.error);
  useEffect(() => {
    if (!sent.current || !refused) return;
    sent.current = false;
    form.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus();
  });
  if (fields.length === 0 && !actions.some((a) => a.form)) return <div class="sheet">{children}</div>;
  const submit = (event: Event) => {
    event.preventDefault();
    const main = actions.find((a) => a.form && a.kind === 'main');
    if (!main || !form.current) return;
    sent.current = true; // by Enter there was no tap
    send(main, { values: formValues(form.current) });
  };
  const tapped = (event: Event) => {
    if ((event.target as Element).closest('[data-form]')) sent.current = true;
  };
  return (
    <form class="sheet" ref={form} noValidate onSubmit={submit} onClick={tapped}>
      {children}
    </form>
  );
}
