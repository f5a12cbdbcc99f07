import { useId } from 'preact/hooks';
import type { ComponentChildren } from 'preact';
import type { Field as FieldView, Option } from '../views';
import { numeral } from '../words';
import { Say } from './Say';

/** The fields of a form, in order. */
export function Fields({ fields }: { readonly fields: readonly FieldView[] }) {
  return <>{fields.map((field) => <Field key={field.id} field={field} />)}</>;
}

/** One question. Its value starts as the view's and is then the person's until it is sent. */
export function Field({ field }: { readonly field: FieldView }) {
  const id = useId();
  if (field.kind === 'choice' || field.kind === 'answer' || field.kind === 'scale') {
    return <Options field={field} id={id} />;
  }
  return (
    <div class={`field ${field.kind}`}>
      <label for={id}><Say text={field.label} /><Optional field={field} /></label>
      <Hint field={field} id={id} />
      <div class="entry">
        <Entry field={field} id={id} />
        {field.unit && <span class="unit"><Say text={field.unit} /></span>}
      </div>
      <Refusal field={field} id={id} />
    </div>
  );
}

interface Part {
  readonly field: FieldView;
  readonly id: string;
}

function described({ field, id }: Part): string | undefined {
  const ids = [field.hint && `${id}-hint`, field.error && `${id}-error`].filter(Boolean);
  return ids.length > 0 ? ids.join(' ') : undefined;
}

function Entry({ field, id }: Part) {
  const shared = {
    id,
    name: field.id,
    defaultValue: field.value,
    autocomplete: 'off',
    'aria-invalid': field.error ? ('true' as const) : undefined,
    'aria-describedby': described({ field, id }),
  };
  if (field.kind === 'long') return <textarea {...shared} rows={3} />;
  if (field.kind === 'number') return <input {...shared} type="text" inputMode="decimal" />;
  if (field.kind === 'code') {
    // A recovery code is longer than a line.
    return (
      <textarea {...shared} rows={2} dir="ltr" autocapitalize="characters" spellcheck={false} />
    );
  }
  if (field.kind === 'secret') return <input {...shared} type="password" autocapitalize="none" />;
  return <input {...shared} type="text" />;
}

function Optional({ field }: { readonly field: FieldView }) {
  if (!field.optional) return null;
  return <span class="optional"> <Say text={{ k: 'page.optional' }} /></span>;
}

function Hint({ field, id }: Part) {
  if (!field.hint) return null;
  return <p class="small" id={`${id}-hint`}><Say text={field.hint} /></p>;
}

function Refusal({ field, id }: Part) {
  if (!field.error) return null;
  return <p class="error" id={`${id}-error`}><Say text={field.error} /></p>;
}

function Options({ field, id }: Part) {
  return (
    <fieldset class={`field ${field.kind}`} aria-describedby={described({ field, id })}>
      <legend><Say text={field.label} /><Optional field={field} /></legend>
      <Hint field={field} id={id} />
      {field.ends && (
        <p class="ends small">
          <span><bdi>{numeral(0)}</bdi> <Say text={field.ends[0]} /></span>
          <span><bdi>{numeral(10)}</bdi> <Say text={field.ends[1]} /></span>
        </p>
      )}
      <div class="options" dir={isSides(field) ? 'ltr' : undefined}>
        {optionsOf(field).map(([value, label]) => (
          <label class="option" key={value}>
            <input
              type="radio" name={field.id} value={value} defaultChecked={field.value === value}
              aria-invalid={field.error ? 'true' : undefined}
            />
            <span><span>{label}</span></span>
          </label>
        ))}
      </div>
      <Refusal field={field} id={id} />
    </fieldset>
  );
}

const yesOrNo: readonly Option[] = [
  { value: 'no', label: { k: 'page.no' } },
  { value: 'yes', label: { k: 'page.yes' } },
];

function optionsOf(field: FieldView): readonly (readonly [string, ComponentChildren])[] {
  if (field.kind === 'scale') {
    return Array.from({ length: 11 }, (_, n) => [String(n), numeral(n)] as const);
  }
  const options = field.options ?? (field.kind === 'answer' ? yesOrNo : []);
  return options.map(({ value, label }) => [value, <Say text={label} />] as const);
}

/** The left side of the body stays left on the screen, whichever way the language reads. */
function isSides(field: FieldView): boolean {
  return field.options?.[0]?.value === 'left' && field.options[1]?.value === 'right';
}
