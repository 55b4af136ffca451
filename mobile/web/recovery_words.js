// What the recovery page says of its findings: plain words first, places and sizes for the details.

const KINDS = {
  addition: ['addition', 'additions'],
  amendment: ['correction', 'corrections'],
  delivery_setting: ['limewater setting', 'limewater settings'],
  event: ['event', 'events'],
  incident: ['overdose entry', 'overdose entries'],
  job_choice: ['choice of a job', 'choices of jobs'],
  job_done: ['job done', 'jobs done'],
  limewater_strength: ['limewater strength', 'limewater strengths'],
  meter_check: ['meter check', 'meter checks'],
  note: ['note', 'notes'],
  pack_opened: ['pack opened', 'packs opened'],
  powder_stock: ['powder stock', 'powder stocks'],
  procedure_run: ['procedure', 'procedures'],
  pump_check: ['pump check', 'pump checks'],
  recharge: ['recharge', 'recharges'],
  refill: ['refill', 'refills'],
  second_source_setting: ['second source setting', 'second source settings'],
  setup: ['set-up', 'set-ups'],
  supply_stock: ['supply stock', 'supply stocks'],
  vessel_emptied: ['vessel emptied', 'vessels emptied'],
  water_change: ['water change', 'water changes'],
  water_test: ['test', 'tests'],
};
const STORES = {
  opfs: 'the browser’s file store',
  idb: 'the browser’s database',
};

/** "1 note", "3 notes". */
export function counted(count, one, more = `${one}s`) {
  return `${count.toLocaleString()} ${count === 1 ? one : more}`;
}

/** "3 notes" for a kind of record; one that is not known here goes by its own name. */
export function countedKind(kind, count) {
  const plain = kind.replaceAll('_', ' ');
  return counted(count, ...(Object.hasOwn(KINDS, kind) ? KINDS[kind] : [plain, plain]));
}

/** The one word for a kind of record. */
export function kindName(kind) {
  return Object.hasOwn(KINDS, kind) ? KINDS[kind][0] : kind.replaceAll('_', ' ');
}

/** Where a copy lies, in plain words. */
export function placeOf({ isCopy, store }) {
  return `${isCopy ? 'the second copy in ' : ''}${STORES[store.kind]}`;
}

function lossOfEnd({ read, held, journal }) {
  const said = [];
  if (held && held.missing) {
    said.push(`Missing at the end, though reported as saved: ${counted(held.missing, 'save')}.`);
  }
  if (held && held.differs) {
    said.push('The last save that was reported as saved is not the one in the file.');
  }
  if (read.missing && journal.length) {
    said.push('The end of the file is missing. Some of the newest entries may be gone.');
  }
  if (read.tail && held && !held.missing) {
    said.push('The last bytes cannot be read. Perhaps an entry was being saved: it is not here.');
  } else if (read.tail && !held) {
    said.push('The end of the file cannot be read. An entry may have stood there.');
  }
  return said;
}

function lossOfHead({ read, journal }) {
  if (read.isUnreadable) return ['A file of records is here, and nothing in it can be read.'];
  if (!journal.length) return ['The file of records is gone. What is here comes from an older copy.'];
  if (!read.header) return ['The head of the file is damaged. The entries were read without it.'];
  return [];
}

/** What of one copy could not be read, or is gone: sentences, none where nothing is known of. */
export function lossesOf(source) {
  const { read } = source;
  const said = lossOfHead(source);
  if (read.damaged.length) {
    const places = counted(read.damaged.length, 'place');
    said.push(`Damaged: ${places}. What stood there cannot be read.`);
  }
  if (read.lost) {
    said.push(`Missing between others: ${counted(read.lost, 'save')}. A save is one entry, or several.`);
  }
  if (read.missingBetween.length) {
    const places = counted(read.missingBetween.length, 'place');
    said.push(`A write is missing at ${places}. What stands before and after it is kept.`);
  }
  said.push(...lossOfEnd(source));
  if (read.newer) {
    said.push('A newer version of Sumpside wrote here. What only it knows was not read.');
  }
  return said;
}

/** What is damaged in one copy and cost no entry: sentences. */
export function remarksOf({ read, isCopy, journal }) {
  const said = [];
  const [head, other] = read.headers;
  const spare = head && !other ? journal.subarray(head.seq % 2 ? 0 : 4096).subarray(0, 64) : [];
  if (spare.some(Boolean)) said.push('One copy of the file’s head is damaged. The other one served.');
  if (read.snapshotsLost.length && !isCopy) {
    said.push('A shortcut for quick opening could not be used. The entries themselves were read.');
  }
  return said;
}

/** What was found where, for somebody who repairs. */
export function detailsOf(source) {
  const { store, name, journal, read, held, epoch, isLeftOut } = source;
  const places = (spans) => spans.map(([from, to]) => `${from}-${to}`).join(' ') || 'none';
  const { header, basis } = read;
  return [
    `${store.kind} ${store.folder}/${name}: ${journal.length} bytes${isLeftOut ? ', left out' : ''}`,
    `  head: ${header ? `format ${header.version}, number ${header.seq}, epoch ${epoch}` : 'none'}`,
    `  snapshot: ${basis ? `${basis.generation}, replay from ${basis.replayFrom}` : 'none'}`,
    `  frames: ${read.frames}, last number ${read.lastSeq}, ends at ${read.end}, lost ${read.lost}`,
    `  damaged: ${places(read.damaged)}; tail: ${places(read.tail ? [read.tail] : [])}`,
    `  newer: ${places(read.newerSpans)}; does not follow at: ${read.missingBetween.join(' ') || 'none'}`,
    `  snapshots not usable: ${[...read.snapshotsLost, ...read.leftOver].join(' ') || 'none'}`,
    `  acknowledged: ${held ? `missing ${held.missing}, differs ${held.differs}` : 'not known'}`,
  ].join('\n');
}
