// What the stores of this browser amount to: which copies count, the records in them, the export.
// Pure, as journal_reader.js: no page, no store, no clock.
import { canonical, readJson, sha256, textOf } from './journal_bytes.js';
import { heldAgainst, readJournal, readMark } from './journal_reader.js';

const NO_BYTES = new Uint8Array();
const ID = /^[A-Za-z0-9_-]{1,40}:[1-9][0-9]{0,14}$/;
const EARLIEST_YEAR = 1990;
const LATEST_YEAR = 2199;
const isText = (value) => typeof value === 'string' && value !== '';

// --- where records lie

/** The name of a folder of the site below a base path such as "/" or "/one/two/"; as places.py. */
export function folderName(base, number = 1) {
  const name = number === 1 ? 'sumpside-records' : `sumpside-records-${number}`;
  const inner = base.replace(/^\/+|\/+$/g, '');
  return inner ? `${name}@${inner.replaceAll('~', '%7E').replaceAll('/', '~')}` : name;
}

/** What an erasing under way leaves of a folder's files; see mobile/storage/erasing.py. */
function leftByErasing(files) {
  const mark = parsed(textOf(files.get('erasing') || NO_BYTES));
  if (!mark || mark.format !== 'sumpside-erasing') return { files, erasing: '' };
  const next = files.get('journal-next');
  const journal = next || files.get('journal') || NO_BYTES;
  if (next && sha256(next) !== mark.sha256) return { files, erasing: 'damaged' };
  // Nothing else of the folder: a snapshot or a copy of damage may hold what is to be erased.
  return { files: new Map([['journal', journal]]), erasing: 'standing' };
}

function sourcesOf(store) {
  const { files, erasing } = leftByErasing(store.files);
  const found = [];
  const isKept = [...files].some(
    ([name, bytes]) => (name === 'journal' && bytes.length) || name.startsWith('snapshot-'),
  );
  if (isKept) {
    const journal = files.get('journal') || NO_BYTES;
    const read = readJournal(files);
    const held = heldAgainst(readMark(files.get('acknowledged') || NO_BYTES), read, journal);
    const { epoch = null, lineage = 0 } = read.header || {};
    const kept = { store, files, journal, read, held, epoch, lineage, erasing };
    found.push({ ...kept, isCopy: false, isCleared: false, name: 'journal' });
  }
  const copy = store.files.get('second-copy') || NO_BYTES;
  if (copy.length) {
    const read = readJournal(new Map([['journal', copy]]));
    const mark = readMark(store.files.get('second-copy-mark') || NO_BYTES);
    const told = [read.header, mark].filter(Boolean);
    const epochs = told.map(({ epoch }) => epoch);
    found.push({
      store,
      isCopy: true,
      name: 'second-copy',
      files: new Map(),
      journal: copy,
      read,
      held: heldAgainst(mark, read, copy),
      epoch: epochs.length ? Math.min(...epochs) : null,
      lineage: told.length ? told[0].lineage : 0,
      // Cleared for an erasing, and its bytes were not emptied any more.
      isCleared: Boolean(mark && !mark.frame && Math.min(...epochs) < mark.epoch),
      erasing: '',
    });
  }
  return found;
}

/** Mark what must not count: a copy of before an erasing, or one of which that cannot be told. */
function leaveOutErased(sources) {
  const erasing = sources.find((source) => source.erasing === 'standing');
  const lead = erasing || sources.find(({ isCopy, epoch }) => !isCopy && epoch !== null);
  for (const source of sources) {
    const isOlder = lead && source.lineage === lead.lineage && (source.epoch ?? 0) < lead.epoch;
    source.isLeftOut = source.isCleared || (source !== lead && Boolean(erasing || isOlder));
  }
}

// --- what a record says of itself

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/** A time with its zone as milliseconds since 1970, or null. */
function instant(text) {
  if (!isText(text) || !/(?:Z|[+-][0-9]{2}:?[0-9]{2}(?::?[0-9.]+)?)$/.test(text)) return null;
  const time = new Date(text);
  const year = time.getUTCFullYear();
  return year >= EARLIEST_YEAR && year <= LATEST_YEAR ? time.getTime() : null;
}

/** What stands on the outside of a record, or null where it is not in order. */
function envelope(raw) {
  const fields = parsed(raw);
  if (!fields || !ID.test(fields.id)) return null;
  const { id, at, system, kind, v, recorded_at: enteredAt } = fields;
  const times = [instant(at), instant(enteredAt)];
  const isSound = isText(system) && isText(kind) && Number.isSafeInteger(v) && v > 0;
  return isSound && !times.includes(null)
    ? { id, raw, system, kind, at: times[0], enteredAt: times[1] }
    : null;
}

// --- records of one copy, then of all

class Tables {
  constructor() {
    this.records = new Map(); // id -> texts that differ; the first one is the record
    this.conflicts = [];
    this.deleted = new Set();
  }

  apply({ table, id, raw }) {
    if (table !== 'records' && table !== 'conflicts') return; // the app's own state stays here
    if (table === 'conflicts') {
      if (raw !== null) this.conflicts.push(raw);
    } else if (raw === null) {
      this.records.delete(id);
      this.deleted.add(id);
    } else {
      this.deleted.delete(id);
      this.add(id, raw);
    }
  }

  add(id, raw) {
    const texts = this.records.get(id) || [];
    if (!texts.some((text) => isSame(text, raw))) texts.push(raw);
    this.records.set(id, texts);
  }
}

function isSame(first, second) {
  return first === second || canonical(first, readJson(first)) === canonical(second, readJson(second));
}

function unite(sources) {
  const all = new Tables();
  for (const source of sources) {
    const own = new Tables();
    source.read.ops.forEach((op) => own.apply(op));
    const before = all.records.size;
    for (const [id, texts] of own.records) {
      if (!all.deleted.has(id)) texts.forEach((raw) => all.add(id, raw)); // gone from a better copy
    }
    own.deleted.forEach((id) => all.deleted.add(id));
    for (const raw of own.conflicts) {
      if (!all.conflicts.some((text) => isSame(text, raw))) all.conflicts.push(raw);
    }
    source.added = all.records.size - before;
  }
  return all;
}

function countBy(items, key) {
  const counts = new Map();
  for (const item of items) counts.set(item[key], (counts.get(item[key]) || 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
}

function sorted(tables) {
  const records = [];
  const conflicts = [...tables.conflicts];
  const unread = [];
  for (const texts of tables.records.values()) {
    const [first, ...others] = texts;
    const record = envelope(first);
    if (record) records.push(record);
    else unread.push(first);
    conflicts.push(...others);
  }
  records.sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
  return { records, conflicts, unread };
}

/**
 * Put together what was found in all stores.
 *
 * Each store is `{kind, folder, files}`, `files` a Map of bytes by name. Returns `sources` (each
 * copy with what its reading found, `isLeftOut` where it must not count), `records` oldest first,
 * `conflicts` and `unread` (texts), `kinds` and `systems` (name and count, most first), `newest`
 * (entered last) and `isErasing`.
 */
export function gather(stores) {
  const sources = stores.flatMap(sourcesOf).sort((a, b) => a.isCopy - b.isCopy);
  leaveOutErased(sources);
  const found = sorted(unite(sources.filter(({ isLeftOut }) => !isLeftOut)));
  const { records } = found;
  return {
    ...found,
    sources,
    kinds: countBy(records, 'kind'),
    systems: countBy(records, 'system'),
    newest: records.reduce((a, b) => (a && a.enteredAt >= b.enteredAt ? a : b), null),
    isErasing: sources.some(({ erasing }) => erasing === 'standing'),
  };
}

/** The export file that the app imports, as bytes; its form is mobile/storage/transfer.py's. */
export function exportBytes({ records, conflicts, unread }, exportedAt) {
  const texts = [...records.map(({ raw }) => raw), ...conflicts, ...unread];
  // A line feed outside of a text is only a space; inside of one JSON allows none.
  const body = new TextEncoder().encode(texts.map((raw) => `${raw.replace(/[\r\n]/g, ' ')}\n`).join(''));
  const header = {
    format: 'sumpside-records',
    version: 1,
    exported_at: exportedAt.toISOString(),
    records: texts.length,
    sha256: sha256(body),
  };
  const first = new TextEncoder().encode(`${JSON.stringify(header)}\n`);
  const whole = new Uint8Array(first.length + body.length);
  whole.set(first);
  whole.set(body, first.length);
  return whole;
}

/** Files of which something could not be read, as they are: `{name, bytes}`. */
export function rawFiles({ sources }) {
  const found = [];
  for (const { isLeftOut, store, files, name, journal, read } of sources) {
    if (isLeftOut) continue;
    const { damaged, tail, isUnreadable, newer, headers, missing, lost, snapshotsLost, leftOver } = read;
    const isBad = damaged.length || tail || isUnreadable || newer || !headers.length || missing || lost;
    const kept = [...files.keys()].filter((each) => each.startsWith('quarantine-'));
    const names = [...kept, ...snapshotsLost, ...leftOver].filter((each) => files.has(each));
    const own = isBad || read.missingBetween.length ? [[name, journal]] : [];
    for (const [each, bytes] of [...own, ...names.map((each) => [each, files.get(each)])]) {
      if (bytes.length) found.push({ name: `${store.kind}-${store.folder}-${each}`, bytes });
    }
  }
  return found;
}
