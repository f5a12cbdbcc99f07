import { useEffect, useRef } from 'preact/hooks';
import { Act } from '../components/Act';
import { Head, repeatsTitle } from '../components/Head';
import type { Ports } from '../components/ports';
import type { View } from '../views';
import { FormScreen } from './FormScreen';
import { InviteScreen } from './InviteScreen';
import { ListScreen } from './ListScreen';
import { NoticeScreen } from './NoticeScreen';
import { PlanScreen } from './PlanScreen';
import { ResultScreen } from './ResultScreen';
import { TestScreen } from './TestScreen';
import { WorkScreen } from './WorkScreen';

interface Props extends Ports {
  readonly view: View;
}

/**
 * Draws any view and nothing else: it keeps no state and reads no clock, storage or network. A tap
 * goes out through `send` or `go`; its effect comes back as the next view. A new screen starts at
 * its top with the focus on its heading.
 */
export function Screen({ view, ...ports }: Props) {
  const main = useRef<HTMLElement>(null);
  const first = useRef(true);
  const place = placeOf(view);
  useEffect(() => {
    if (first.current) {
      first.current = false;
      return;
    }
    main.current?.querySelector<HTMLElement>('h1')?.focus({ preventScroll: true });
    main.current?.ownerDocument.defaultView?.scrollTo(0, 0);
  }, [place]);
  const session = view.screen === 'test' || view.screen === 'work';
  return (
    <main
      class={session ? 'screen session' : 'screen'} data-screen={view.screen} data-place={place}
      ref={main}
    >
      <Head head={view.head} heading={!hasFinding(view)} go={ports.go} />
      {view.running && (
        <div class="under-way"><Act action={view.running} send={ports.send} go={ports.go} /></div>
      )}
      <Body key={place} view={view} {...ports} />
    </main>
  );
}

function placeOf(view: View): string {
  const place = `${view.route} ${view.screen}`;
  return 'phase' in view ? `${place} ${view.phase}` : place;
}

function hasFinding(view: View): boolean {
  if (view.screen === 'work') return !repeatsTitle(view.head, view.finding);
  return view.screen !== 'test' || (view.phase === 'setup' && view.finding !== undefined);
}

function Body({ view, ...ports }: Props) {
  switch (view.screen) {
    case 'list':
      return <ListScreen view={view} {...ports} />;
    case 'form':
      return <FormScreen view={view} {...ports} />;
    case 'test':
      return <TestScreen view={view} {...ports} />;
    case 'result':
      return <ResultScreen view={view} {...ports} />;
    case 'plan':
      return <PlanScreen view={view} {...ports} />;
    case 'invite':
      return <InviteScreen view={view} {...ports} />;
    case 'work':
      return <WorkScreen view={view} {...ports} />;
    case 'notice':
      return <NoticeScreen view={view} {...ports} />;
  }
}
