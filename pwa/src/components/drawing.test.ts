import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Figure } from '../views';
import { draw } from './drawing';

const base = { label: { k: 'x' }, notes: [], supports: [] };
const standing: Figure = {
  ...base, works: 'left',
  lines: [
    { part: 'trunk', x1: 0, y1: 1, x2: 0, y2: 1.5 },
    { part: 'head', x1: 0, y1: 1.5, x2: 0, y2: 1.7 },
  ],
};

// A side bridge on the right elbow works the right, lower side; a weight in the right hand works the
// left side (common practice, no source).
test('the working flank is across from the weight, or below in a lying figure', () => {
  assert.ok(draw(standing).flank!.off.x < 0);
  assert.ok(draw({ ...standing, works: 'right' }).flank!.off.x > 0);
  const weight = { x: 0.3, y: 0.8, newtons: 157 };
  assert.ok(draw({ ...standing, weight }).flank!.off.x < 0);
  // Facing the client the picture is turned round, and the flank with it.
  assert.ok(draw({ ...standing, weight: { ...weight, x: -0.3 } }).flank!.off.x > 0);
  for (const headX of [1.5, -1.5]) {
    const lying = { ...standing, lines: [{ part: 'trunk', x1: 0, y1: 0.3, x2: headX, y2: 0.4 }] };
    assert.ok(draw(lying).flank!.off.y > 0, 'y points down in a drawing');
  }
});

test('metres become centimetres, up becomes down, the line goes through the trunk', () => {
  const d = draw(standing);
  assert.equal(Math.round(d.head!.r), 10);
  assert.ok(d.head!.y < d.limbs[0]!.from.y);
  assert.equal(d.plumbX, d.limbs[0]!.from.x);
  const lines = [{ part: 'trunk', x1: 0, y1: 0, x2: 1, y2: 0.1 }];
  assert.equal(draw({ ...standing, lines }).plumbX, undefined);
});
