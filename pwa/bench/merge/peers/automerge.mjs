// automerge: a map of maps, the plan a list; every text a plain value, as none is edited by letter.
import * as A from '@automerge/automerge';

const actors = { A: 'aa'.repeat(16), B: 'bb'.repeat(16), S: 'cc'.repeat(16), '': 'ee'.repeat(16) };

// All replicas begin with the same empty containers.
const empty = A.save(A.change(A.init({ actor: 'dd'.repeat(16) }), { time: 1 }, (doc) => {
  Object.assign(doc, { sets: {}, sessions: {}, notes: {}, plan: [] });
}));

const plain = (value) =>
  value.text === undefined ? (value.whole ?? 0) : new A.ImmutableString(value.text);

function recordOf(fields) {
  return Object.fromEntries(fields.map(({ name, value }) => [name, plain(value)]));
}

function carryOut(doc, op) {
  if (op.in !== 'plan') {
    if (op.do === 'add') doc[op.in][op.id] = recordOf(op.fields);
    else if (op.do === 'delete') delete doc[op.in][op.id];
    else if (doc[op.in][op.id]) doc[op.in][op.id][op.field] = plain(op.value);
    return;
  }
  if (op.do === 'add') {
    const item = { ...recordOf(op.fields), id: new A.ImmutableString(op.id) };
    doc.plan.insertAt(Math.min(op.index ?? 0, doc.plan.length), item);
    return;
  }
  const at = doc.plan.findIndex((item) => item.id.toString() === op.id);
  if (at < 0) return;
  if (op.do === 'delete') doc.plan.deleteAt(at);
  else doc.plan[at][op.field] = plain(op.value);
}

export default {
  open: (name) => A.load(empty, { actor: actors[name] }),
  commit: (doc, line) => A.change(doc, { time: Math.floor(line.atMS / 1000) }, (draft) => {
    line.ops.forEach((op) => carryOut(draft, op));
  }),
  version: (doc) => A.getHeads(doc),
  since: (doc, version) => A.saveSince(doc, version),
  merge: (doc, update) => A.loadIncremental(doc, update),
  save: (doc) => A.save(doc),
  load: (bytes) => A.load(bytes, { actor: actors[''] }),
  show: (doc) => JSON.parse(JSON.stringify(doc)),
};
