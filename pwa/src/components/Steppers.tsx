import type { Stepper as StepperView } from '../views';
import { direction } from '../words';
import { Plumb } from './Plumb';
import type { Ports } from './ports';
import { Stepper } from './Stepper';

interface Props extends Pick<Ports, 'send'> {
  readonly steppers: readonly StepperView[];
}

/** Numbers under each other; a left and a right one stand either side of the plumb line. */
export function Steppers({ steppers, send }: Props) {
  const left = steppers.find((s) => s.side === 'left');
  const right = steppers.find((s) => s.side === 'right');
  const paired = left && right;
  const alone = paired ? steppers.filter((s) => s !== left && s !== right) : steppers;
  return (
    <div class="steppers">
      {paired && (
        <div class="pair" dir="ltr">
          <div class="column l" dir={direction()}><Stepper stepper={left} send={send} /></div>
          <div class="column r" dir={direction()}><Stepper stepper={right} send={send} /></div>
          <Plumb />
        </div>
      )}
      {alone.map((s) => <Stepper key={s.id} stepper={paired ? s : wide(s)} send={send} />)}
    </div>
  );
}

/** A number of one side with no other beside it takes the whole width; its notes say the side. */
function wide({ side: _side, ...stepper }: StepperView): StepperView {
  return stepper;
}
