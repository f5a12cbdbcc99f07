import type { WorkingView } from '../views';
import { Lines } from './Lines';
import { Say } from './Say';

interface Props {
  readonly working: WorkingView;
  /** Says in its line what of: where several stand together, or nothing beside it does. */
  readonly named?: boolean;
}

/** How a number was come by: what went in, each step, the sources and the cautions. */
export function Working({ working, named }: Props) {
  return (
    <details class="working">
      <summary>
        <Say
          text={named ? { k: 'page.show_working_of', a: { what: working.title } }
            : { k: 'page.show_working' }}
        />
      </summary>
      <h2><Say text={working.title} /></h2>
      {working.inputs.length > 0 && <h3><Say text={{ k: 'page.inputs' }} /></h3>}
      <dl>
        {working.inputs.map((input, i) => (
          <div key={i}>
            <dt><Say text={input.label} /></dt>
            <dd>
              <Say text={input.value} />
              {input.note && <small><Say text={input.note} /></small>}
            </dd>
          </div>
        ))}
      </dl>
      {working.steps.length > 0 && <h3><Say text={{ k: 'page.steps' }} /></h3>}
      <ol>
        {working.steps.map((step, i) => (
          <li key={i}>
            <Say text={step.label} />
            <code dir="ltr">{step.formula}</code>
            <b><Say text={step.value} /></b>
          </li>
        ))}
      </ol>
      {working.sources.length > 0 && <h3><Say text={{ k: 'page.sources' }} /></h3>}
      <ul>
        {working.sources.map((source, i) => (
          <li key={i}>
            <bdi>{source.title}</bdi> <bdi class="small">{source.where}</bdi>{' '}
            <span class="small"><Say text={source.status} /></span>
          </li>
        ))}
      </ul>
      {working.cautions.length > 0 && <h3><Say text={{ k: 'page.cautions' }} /></h3>}
      <Lines lines={working.cautions} />
    </details>
  );
}
