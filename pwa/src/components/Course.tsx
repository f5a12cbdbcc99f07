import type { Course as CourseView, CourseSide, SideName } from '../views';
import { direction } from '../words';
import { percent, whisker } from './Bars';
import { Lines } from './Lines';
import { Plumb } from './Plumb';
import { Say } from './Say';

/**
 * What an exercise is predicted to do: for each set a bar for each repetition, growing outward from
 * the plumb line to the edge, where the side gives way. The words under the bars say what is left.
 */
export function Course({ course }: { readonly course: CourseView }) {
  return (
    <figure class="course">
      <figcaption class="small"><Say text={course.title} /></figcaption>
      <div class="pair" dir="ltr">
        <div class="column l" dir={direction()}><Lines lines={course.left} name="small" /></div>
        <div class="column r" dir={direction()}><Lines lines={course.right} name="small" /></div>
        <Plumb />
      </div>
      {course.sets.map((set, i) => (
        <div class="pair" dir="ltr" key={i}>
          <p class="small set" dir={direction()}><Say text={set.label} /></p>
          <Half side={set.left} name="left" />
          <Half side={set.right} name="right" />
          <Plumb />
        </div>
      ))}
    </figure>
  );
}

function Half({ side, name }: { readonly side: CourseSide | undefined; readonly name: SideName }) {
  const place = name === 'left' ? 'l' : 'r';
  if (!side) return <div class={`column ${place}`} />;
  return (
    <div class={`column ${place}`}>
      {side.bars.map(({ low, bar, high }, i) => (
        <div class="bed" aria-hidden="true" key={i}>
          <i class={`bar ${place}`} style={{ width: percent(bar) }} />
          <i class="whisker" style={whisker(name, low, high)} />
        </div>
      ))}
      <p class={side.care ? 'small strong' : 'small'} dir={direction()}>
        <Say text={side.reserve} />
      </p>
    </div>
  );
}
