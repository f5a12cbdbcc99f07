import type { SideName, Text } from '../views';
import { direction } from '../words';
import { Lines } from './Lines';
import { Plumb } from './Plumb';

interface Props {
  /** The side of the trunk that works: the words stand on its half. */
  readonly side: SideName | undefined;
  readonly notes: readonly Text[];
}

/** Hand or down side and working side, in words, on the half of the side that works. */
export function SideNotes({ side, notes }: Props) {
  if (notes.length === 0) return null;
  if (!side) return <Lines lines={notes} name="strong" />;
  const words = <div dir={direction()}><Lines lines={notes} name="strong" /></div>;
  return (
    <div class="pair side-notes" dir="ltr">
      <div class="column l">{side === 'left' && <><i class="bar l" />{words}</>}</div>
      <div class="column r">{side === 'right' && <><i class="bar r" />{words}</>}</div>
      <Plumb />
    </div>
  );
}
