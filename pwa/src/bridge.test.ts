import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Answer, ToPage, ToWorker } from './answer';
import { connect, type Line } from './bridge';

function line() {
  const sent: ToWorker[] = [];
  const worker: Line = { postMessage: (message) => sent.push(message), onmessage: null };
  const seen: [Answer, boolean][] = [];
  const bridge = connect(worker, () => ({ wallMS: 5, monoMS: 3, run: 'r' }), {
    answer: (answer, asked) => seen.push([answer, asked]),
    stored: () => undefined, cover: () => undefined,
  });
  const say = (data: ToPage): void => worker.onmessage?.({ data } as MessageEvent<ToPage>);
  return { sent, seen, bridge, say };
}

test('commands go out in order, with the moment of the tap', () => {
  const { sent, bridge } = line();
  void bridge.send('test.start', { side: 'left' });
  void bridge.go('/sync');
  const at = { wallMS: 5, monoMS: 3, run: 'r' };
  assert.deepEqual(sent, [
    { kind: 'hello' },
    { kind: 'command', id: 1, do: 'test.start', args: { side: 'left' }, at },
    { kind: 'command', id: 2, do: 'go', args: { route: '/sync' }, at },
  ]);
});

test('answers find their command, in whatever order they come', async () => {
  const { seen, bridge, say } = line();
  const first = bridge.send('a');
  const second = bridge.send('b');
  say({ kind: 'answer', id: 2, answer: { result: 'B' } });
  say({ kind: 'news', answer: { result: 'N' } });
  say({ kind: 'answer', id: 1, answer: { result: 'A' } });
  assert.deepEqual([(await first).result, (await second).result], ['A', 'B']);
  assert.deepEqual(seen.map(([answer, asked]) => [answer.result, asked]),
    [['B', true], ['N', false], ['A', true]]);
});
