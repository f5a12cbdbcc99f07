import { useEffect, useId, useRef } from 'preact/hooks';
import type { Action, Stepper as StepperView, Text } from '../views';
import { direction, numeral, t } from '../words';
import { useRepeat } from './repeat';
import { Lines } from './Lines';
import type { Ports } from './ports';
import { Say } from './Say';

interface Props extends Pick<Ports, 'send'> {
  readonly stepper: StepperView;
}

/**
 * A number with − and +, which can be typed too. − and + send the value that the core offers for
 * them, as a number; a typed value goes as it was typed, as a string.
 */
export function Stepper({ stepper, send }: Props) {
  const id = useId();
  const input = useRef<HTMLInputElement>(null);
  const shown = numeral(stepper.value);
  const action: Action = {
    label: stepper.label,
    do: stepper.do,
    ...(stepper.args && { args: stepper.args }),
  };
  useEffect(() => {
    if (input.current) input.current.value = shown;
  }, [shown]);
  const typed = () => {
    const text = input.current?.value.trim() ?? '';
    if (text !== shown) send(action, { value: text });
  };
  const step = (value: number) => () => {
    if (value === stepper.value) return false;
    send(action, { value });
    return true;
  };
  const error = stepper.error && `${id}-error`;
  return (
    <div class={stepper.side ? 'stepper half-width' : 'stepper'} role="group" aria-labelledby={id}>
      <div class="what">
        <label class="small" id={id} for={`${id}-value`}><Say text={stepper.label} /></label>
        {stepper.pin && <Pin what={stepper.label} pin={stepper.pin} send={send} />}
        {stepper.notes && <Notes notes={stepper.notes} together={!stepper.side} />}
      </div>
      <div class="step" dir="ltr">
        <StepButton sign="−" word="page.less" stepper={stepper} step={step(stepper.less)} />
        <span class="value" dir={direction()}>
          <input
            id={`${id}-value`} ref={input} type="text" inputMode="decimal" autocomplete="off"
            defaultValue={shown} style={{ '--figures': String(shown.length) }} enterKeyHint="done"
            aria-invalid={error ? 'true' : undefined} aria-describedby={error}
            onBlur={typed}
            onFocus={(event) => event.currentTarget.select()}
            onKeyDown={(event) => {
              if (event.key !== 'Enter') return;
              event.preventDefault();
              event.currentTarget.blur();
            }}
          />
          <small><Say text={stepper.unit} /></small>
        </span>
        <StepButton sign="+" word="page.more" stepper={stepper} step={step(stepper.more)} />
      </div>
      {stepper.error && <p class="error" id={error}><Say text={stepper.error} /></p>}
    </div>
  );
}

interface PinProps extends Pick<Ports, 'send'> {
  readonly what: Text;
  readonly pin: Action;
}

/** The word that says whether a number stays or follows the others; a touch switches it. */
function Pin({ what, pin, send }: PinProps) {
  return (
    <button
      type="button" class="pin" onClick={() => send(pin)}
      aria-label={t({ k: 'page.pin', a: { what, state: pin.label } })}
    >
      <Say text={pin.label} />
    </button>
  );
}

interface NotesProps {
  readonly notes: readonly Text[];
  readonly together: boolean;
}

/** Hand or down side, and working side: on one line where there is room. */
function Notes({ notes, together }: NotesProps) {
  const [place, works] = notes;
  if (!together || !place || !works) return <Lines lines={notes} name="small" />;
  return <p class="small"><Say text={{ k: 'page.both', a: { place, works } }} /></p>;
}

interface ButtonProps {
  readonly sign: string;
  readonly word: string;
  readonly stepper: StepperView;
  readonly step: () => boolean;
}

function StepButton({ sign, word, stepper, step }: ButtonProps) {
  const press = useRepeat(step);
  const ends = (word === 'page.less' ? stepper.less : stepper.more) === stepper.value;
  return (
    <button
      type="button" class="step-button" aria-disabled={ends}
      aria-label={t({ k: word, a: { what: stepper.label } })} {...press}
    >
      {sign}
    </button>
  );
}
