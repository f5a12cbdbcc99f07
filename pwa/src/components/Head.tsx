import type { Head as HeadView, Text } from '../views';
import { t } from '../words';
import { Link } from './Act';
import type { Ports } from './ports';
import { Say } from './Say';
import { Wordmark } from './Wordmark';

interface Props extends Pick<Ports, 'go'> {
  readonly head: HeadView;
  /** True where no finding stands below: then the name is the heading of the screen. */
  readonly heading: boolean;
}

/** The finding says no more than the title: then the title is the heading of the screen. */
export function repeatsTitle(head: HeadView, finding: Text | undefined): boolean {
  return head.title !== undefined && head.title.k === finding?.k;
}

/** Who or what the screen is about, where things stand, and the way back. */
export function Head({ head, heading, go }: Props) {
  const who = head.name !== undefined
    ? <bdi>{head.name}</bdi>
    : head.title && <Say text={head.title} />;
  return (
    <header class="head">
      {head.back !== undefined && (
        <Link route={head.back} go={go} name="back" label={t({ k: 'page.back' })}>
          <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
            <path d="M15 4 7 12l8 8" fill="none" stroke="currentColor" stroke-width="2.5" />
          </svg>
        </Link>
      )}
      <div class="who">
        {heading ? <h1 tabIndex={-1}>{who ?? <Wordmark />}</h1> : <p>{who ?? <Wordmark />}</p>}
        {head.where && <p class="where"><Say text={head.where} /></p>}
      </div>
      <div class="state" role="status">
        {head.stateRoute === undefined
          ? <Say text={head.state} />
          : (
            <Link route={head.stateRoute} go={go} name="quiet">
              <span><Say text={head.state} /></span>
            </Link>
          )}
      </div>
    </header>
  );
}
