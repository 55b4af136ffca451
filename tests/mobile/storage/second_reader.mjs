// Asks the second reader, for tests/mobile/storage/second_reader.py: a list of questions a line in,
// a list of answers a line out. Files go by base64; `of` starts from files that were sent before.
import { createInterface } from 'node:readline';
import { canonical, crc32, readJson, sha256 } from '../../../mobile/web/journal_bytes.js';
import { heldAgainst, readJournal, readMark } from '../../../mobile/web/journal_reader.js';
import { exportBytes, folderName, gather, rawFiles } from '../../../mobile/web/recovery_records.js';
import { lossesOf, remarksOf } from '../../../mobile/web/recovery_words.js';

const kept = [];
const bytesOf = (text) => Uint8Array.from(Buffer.from(text, 'base64'));
const filesOf = (files) => new Map(Object.entries(files).map(([name, text]) => [name, bytesOf(text)]));

function changed({ of, cut, set = [], remove = [] }) {
  const files = new Map(kept[of]);
  for (const name of remove) files.delete(name);
  if (cut) files.set(cut[0], files.get(cut[0]).subarray(0, cut[1]));
  for (const [name, at, text] of set) {
    const bytes = files.get(name).slice();
    bytes.set(bytesOf(text), at);
    files.set(name, bytes);
  }
  return files;
}

function readingOf(files) {
  const found = readJournal(files);
  const lines = found.ops.map(({ table, id, raw }) =>
    raw === null ? JSON.stringify([table, id]) : `${JSON.stringify([table, id]).slice(0, -1)},${raw}]`,
  );
  const { header, basis, tail, end, missing, lost, newer, frames, damaged, leftOver } = found;
  return {
    header: header && [header.version, header.seq, header.generation],
    basis: basis && [basis.generation, basis.replayFrom, basis.replayAfter],
    snapshots_lost: found.snapshotsLost,
    left_over: leftOver,
    last_seq: found.lastSeq,
    missing_between: found.missingBetween,
    unreadable: found.isUnreadable,
    ops: sha256(new TextEncoder().encode(lines.join('\n'))),
    ...{ tail, end, missing, lost, newer, frames, damaged },
  };
}

function gathered(stores) {
  const found = gather(stores.map((store) => ({ ...store, files: filesOf(store.files) })));
  const { records, conflicts, unread, kinds, systems, newest, isErasing, sources } = found;
  return {
    export: Buffer.from(exportBytes(found, new Date(0))).toString('base64'),
    raw: rawFiles(found).map(({ name, bytes }) => [name, bytes.length]),
    left_out: sources.map(({ isLeftOut }) => isLeftOut),
    losses: sources.map(lossesOf),
    remarks: sources.map(remarksOf),
    newest: newest && newest.id,
    counts: [records.length, conflicts.length, unread.length],
    ...{ kinds, systems, erasing: isErasing },
  };
}

const ANSWERS = {
  keep: ({ files }) => kept.push(filesOf(files)) - 1,
  read: (question) => readingOf(changed(question)),
  gather: ({ stores }) => gathered(stores),
  held: ({ of }) => {
    const files = kept[of];
    const journal = files.get('journal');
    return heldAgainst(readMark(files.get('acknowledged')), readJournal(files), journal);
  },
  json: ({ text }) => {
    const node = readJson(text);
    return node && canonical(text, node);
  },
  sums: ({ data }) => [crc32(bytesOf(data)), sha256(bytesOf(data))],
  name: ({ base, number }) => folderName(base, number),
};

for await (const line of createInterface({ input: process.stdin })) {
  const answers = JSON.parse(line).map((question) => ANSWERS[question.ask](question));
  process.stdout.write(`${JSON.stringify(answers)}\n`);
}
