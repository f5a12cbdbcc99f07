// yjs in its second, smaller encoding: a map of maps, the plan an array.
import * as Y from 'yjs';

const clients = { A: 1001, B: 2002, S: 3003 };

function open(name) {
  const doc = new Y.Doc();
  doc.clientID = clients[name] ?? 4004;
  return doc;
}

function recordOf(fields) {
  const record = new Y.Map();
  for (const { name, value } of fields) record.set(name, value.text ?? value.whole ?? 0);
  return record;
}

function carryOut(doc, op) {
  if (op.in !== 'plan') {
    const records = doc.getMap(op.in);
    if (op.do === 'add') records.set(op.id, recordOf(op.fields));
    else if (op.do === 'delete') records.delete(op.id);
    else records.get(op.id)?.set(op.field, op.value.text ?? op.value.whole ?? 0);
    return;
  }
  const plan = doc.getArray('plan');
  if (op.do === 'add') {
    const item = recordOf(op.fields);
    item.set('id', op.id);
    plan.insert(Math.min(op.index ?? 0, plan.length), [item]);
    return;
  }
  for (let at = 0; at < plan.length; at++) {
    if (plan.get(at).get('id') !== op.id) continue;
    if (op.do === 'delete') plan.delete(at, 1);
    else plan.get(at).set(op.field, op.value.text ?? op.value.whole ?? 0);
    return;
  }
}

export default {
  open,
  commit: (doc, line) => {
    doc.transact(() => line.ops.forEach((op) => carryOut(doc, op)));
    return doc;
  },
  version: (doc) => Y.encodeStateVector(doc),
  since: (doc, version) => Y.encodeStateAsUpdateV2(doc, version),
  merge: (doc, update) => {
    Y.applyUpdateV2(doc, update);
    return doc;
  },
  save: (doc) => Y.encodeStateAsUpdateV2(doc),
  load: (bytes) => {
    const doc = open('');
    Y.applyUpdateV2(doc, bytes);
    return doc;
  },
  show: (doc) => ({
    sets: doc.getMap('sets').toJSON(), sessions: doc.getMap('sessions').toJSON(),
    notes: doc.getMap('notes').toJSON(), plan: doc.getArray('plan').toJSON(),
  }),
};
