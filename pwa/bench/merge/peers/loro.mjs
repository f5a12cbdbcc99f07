// loro: a map of maps, the plan a list. It saves in two forms: a snapshot that opens fast, and the
// updates alone, which are smaller; each is told where it is the better.
import { LoroDoc, LoroMap } from 'loro-crdt';

const peers = { A: '1001', B: '2002', S: '3003' };

function open(name) {
  const doc = new LoroDoc();
  doc.setPeerId(peers[name] ?? '4004');
  return doc;
}

function fill(record, fields) {
  for (const { name, value } of fields) record.set(name, value.text ?? value.whole ?? 0);
}

function carryOut(doc, op) {
  if (op.in !== 'plan') {
    const records = doc.getMap(op.in);
    if (op.do === 'add') fill(records.setContainer(op.id, new LoroMap()), op.fields);
    else if (op.do === 'delete') records.delete(op.id);
    else records.get(op.id)?.set(op.field, op.value.text ?? op.value.whole ?? 0);
    return;
  }
  const plan = doc.getList('plan');
  if (op.do === 'add') {
    const at = Math.min(op.index ?? 0, plan.length);
    const item = plan.insertContainer(at, new LoroMap());
    fill(item, op.fields);
    item.set('id', op.id);
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
    line.ops.forEach((op) => carryOut(doc, op));
    doc.commit();
    return doc;
  },
  version: (doc) => doc.version(),
  since: (doc, version) => doc.export({ mode: 'update', from: version }),
  merge: (doc, update) => {
    doc.import(update);
    return doc;
  },
  save: (doc) => doc.export({ mode: 'snapshot' }),
  saveSmall: (doc) => doc.export({ mode: 'update' }),
  load: (bytes) => LoroDoc.fromSnapshot(bytes),
  show: (doc) => doc.toJSON(),
};
