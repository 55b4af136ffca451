// Reads a journal and its snapshots: bytes in, findings out. It knows no page and changes nothing.
// This is the second reader of the format that mobile/storage documents (frames, header, batch,
// snapshot, reading); tests/mobile/storage/test_second_reader.py holds the two together.
import { crc32, readJson, sha256, textOf } from './journal_bytes.js';

export const FORMAT_VERSION = 2; // the newest that is known here; version 1 is read as well
const DATA_START = 8192;
const SLOT_AT = [0, 4096];
const SLOT_BYTES = 64;
const HEADER_BYTES = 24;
const LARGEST_PAYLOAD = 1 << 18;
const FIRST_VERSION = 0x31; // '1', the fourth byte of a frame
const NEWEST_VERSION = 0x32;
const DIGEST_LETTERS = 32; // the first 16 bytes of a SHA-256
const NOTHING_BEFORE = '0'.repeat(DIGEST_LETTERS);
const SNAPSHOT = /^snapshot-([0-9]{1,9})$/;
const SNAPSHOT_START_BYTES = 1000;

const viewOf = (bytes) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
const longAt = (view, at) => Number(view.getBigUint64(at, true));
const digestOf = (bytes) => sha256(bytes).slice(0, DIGEST_LETTERS);
const hexOf = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
const joinedBytes = (one, other) => {
  const all = new Uint8Array(one.length + other.length);
  all.set(one);
  all.set(other, one.length);
  return all;
};
const isWhole = (value) => Number.isSafeInteger(value) && value >= 0;

// --- the header's slots, and the slots of the same size in `acknowledged` and `second-copy-mark`

function soundSlot(bytes, at, letter) {
  const slot = bytes.subarray(at, at + SLOT_BYTES);
  if (slot.length !== SLOT_BYTES) return null;
  const view = viewOf(slot);
  const magic = [0xf5, 0x53, letter.charCodeAt(0), 0];
  const isSound = magic.every((byte, i) => slot[i] === byte);
  return isSound && crc32(slot.subarray(0, 60)) === view.getUint32(60, true) ? view : null;
}

function headerAt(bytes, at) {
  const view = soundSlot(bytes, at, 'H');
  if (!view) return null;
  const device = String.fromCharCode(...bytes.subarray(at + 16, at + 32)).replace(/\0+$/, '');
  if (!/^[a-z0-9]{8,16}$/.test(device)) return null;
  const version = view.getUint16(4, true);
  return {
    version,
    seq: longAt(view, 8),
    generation: view.getUint32(32, true),
    epoch: version >= 2 ? view.getUint32(36, true) : 0,
    lineage: version >= 2 ? view.getUint32(56, true) : 0,
    replayFrom: longAt(view, 40),
    replayAfter: longAt(view, 48),
  };
}

const newestFirst = (slots) => slots.filter(Boolean).sort((a, b) => b.seq - a.seq);

function headersOf(journal) {
  // A journal is born with its first blocks whole: a shorter one was cut.
  if (journal.length < DATA_START) return [];
  return newestFirst(SLOT_AT.map((at) => headerAt(journal, at)));
}

/** What a file of marks says was safe: `{epoch, frame, start, end, digest}`, or null. */
export function readMark(bytes) {
  const slots = SLOT_AT.map((at) => {
    const view = soundSlot(bytes, at, 'M');
    if (!view || view.getUint16(4, true) !== 1) return null;
    return {
      seq: longAt(view, 8),
      epoch: view.getUint32(16, true),
      frame: longAt(view, 20),
      start: longAt(view, 28),
      end: longAt(view, 36),
      digest: hexOf(bytes.subarray(at + 44, at + 56)),
      lineage: view.getUint32(56, true),
    };
  });
  return newestFirst(slots)[0] || null;
}

// --- frames

function frameAt(bytes, view, at) {
  if (at + HEADER_BYTES > bytes.length) return null;
  const version = bytes[at + 3];
  const length = view.getUint32(at + 4, true);
  const end = at + HEADER_BYTES + length;
  if (version < FIRST_VERSION || length < 2 || length > LARGEST_PAYLOAD) return null;
  const crc = crc32(bytes.subarray(at + 20, at + 24), crc32(bytes.subarray(at, at + 16)));
  if (crc !== view.getUint32(at + 16, true) || end > bytes.length) return null;
  const payload = bytes.subarray(at + HEADER_BYTES, end);
  if (crc32(payload) !== view.getUint32(at + 20, true)) return null;
  return { version, seq: longAt(view, at + 8), payload, start: at, end };
}

function nextPrefix(bytes, from) {
  for (let at = bytes.indexOf(0xf5, from); at >= 0; at = bytes.indexOf(0xf5, at + 1)) {
    if (bytes[at + 1] === 0x53 && bytes[at + 2] === 0x4a) return at;
  }
  return bytes.length;
}

/** Every sound frame from a byte on, and the bytes between them that belong to none. */
function scan(bytes, start) {
  const view = viewOf(bytes);
  const frames = [];
  const damaged = [];
  let goodEnd = start;
  for (let at = nextPrefix(bytes, start); at < bytes.length; ) {
    const frame = frameAt(bytes, view, at);
    if (frame) {
      if (frame.start > goodEnd) damaged.push([goodEnd, frame.start]);
      frames.push(frame);
      goodEnd = frame.end;
    }
    at = nextPrefix(bytes, frame ? frame.end : at + 1);
  }
  return { frames, damaged };
}

// --- batches

const NOT_UNDERSTOOD = { isNewer: false, ops: null };
const OF_A_NEWER_APP = { isNewer: true, ops: null };

function readOp(text, node) {
  if (node.kind !== 'list' || !node.items.length) return NOT_UNDERSTOOD;
  const [name, table, id, doc] = node.items;
  if (name.kind !== 'string') return NOT_UNDERSTOOD;
  const isNamed = node.items.length > 2 && table.kind === 'string' && id.kind === 'string';
  const where = isNamed && { table: table.value, id: id.value };
  const count = node.items.length;
  if (where && name.value === 'put' && count === 4 && doc.kind === 'object') {
    return { ...where, raw: text.slice(doc.from, doc.to) };
  }
  if (where && name.value === 'del' && count === 3) return { ...where, raw: null };
  return OF_A_NEWER_APP;
}

function partOf(text, node) {
  if (!node) return [1, 1];
  if (node.kind !== 'list' || node.items.length !== 2) return null;
  const numbers = node.items.map((item) => Number(text.slice(item.from, item.to)));
  return numbers.every(isWhole) && numbers[0] >= 1 && numbers[0] <= numbers[1] ? numbers : null;
}

function readBatch(frame) {
  if (frame.version > NEWEST_VERSION) return OF_A_NEWER_APP;
  const text = textOf(frame.payload);
  const body = text === null ? null : readJson(text);
  const fields = body && body.kind === 'object' ? body.fields : new Map();
  const ops = fields.get('ops');
  if (!ops || ops.kind !== 'list') return NOT_UNDERSTOOD;
  const known = ['after', 'ops', 'part'];
  if ([...fields.keys()].some((name) => !known.includes(name))) return OF_A_NEWER_APP;
  const after = fields.has('after') ? fields.get('after').value : NOTHING_BEFORE;
  const part = partOf(text, fields.get('part'));
  if (!part || !/^[0-9a-fA-F]{32}$/.test(after)) return NOT_UNDERSTOOD;
  const read = [];
  for (const item of ops.items) {
    const op = readOp(text, item);
    if (op === NOT_UNDERSTOOD || op === OF_A_NEWER_APP) return op;
    read.push(op);
  }
  return { ops: read, number: part[0], count: part[1], after };
}

// --- commits: what the frames amount to

class Assembly {
  constructor(bytes, start, afterSeq, digest) {
    Object.assign(this, { end: start, lastSeq: afterSeq, last: null, lost: 0, newer: false });
    this.bytes = bytes;
    this.ops = [];
    this.unreadable = [];
    this.newerSpans = [];
    this.missingBetween = []; // frames that follow by number, and yet not by content
    this.digest = digest; // of the frame before, where it is known
    this.group = null;
  }

  /** Take the next sound frame; a commit of several is kept once anything follows it, or its end. */
  take(frame) {
    if (frame.seq <= this.lastSeq) {
      this.unreadable.push([frame.start, frame.end]);
      return;
    }
    const batch = readBatch(frame);
    if (!batch.ops) {
      if (!batch.isNewer) this.unreadable.push([frame.start, frame.end]);
      else this.newerSpans.push([frame.start, frame.end]);
      this.newer ||= batch.isNewer;
      this.advance(frame);
      return;
    }
    if (this.group && frame.seq - batch.number + 1 !== this.group.firstSeq) this.keepGroup();
    if (batch.count > 1) {
      this.group ||= this.openGroup(frame, batch);
      this.group.ops.push(...batch.ops);
      this.group.seen += 1;
      this.group.lastSeq = frame.seq;
    } else {
      this.keep(batch.ops);
    }
    this.checkLink(frame, batch.after);
    this.advance(frame);
    if (this.group && this.group.seen === this.group.count) this.keepGroup();
  }

  /** After the last frame: a group that nothing follows was never acknowledged. */
  finish() {
    const { group } = this;
    if (group && group.lastSeq !== this.lastSeq) this.keepGroup();
    else if (group) Object.assign(this, group.before);
    return this;
  }

  openGroup(frame, { number, count }) {
    const { end, lastSeq, lost, last } = this;
    const missingBetween = [...this.missingBetween];
    const before = { end, lastSeq, lost, last, missingBetween };
    return { firstSeq: frame.seq - number + 1, count, before, ops: [], seen: 0, lastSeq: 0 };
  }

  keepGroup() {
    this.keep(this.group.ops);
    this.group = null;
  }

  keep(ops) {
    for (const op of ops) this.ops.push(op);
  }

  checkLink(frame, after) {
    const isKnown = this.lastSeq === 0 || this.digest !== NOTHING_BEFORE;
    if (isKnown && after !== NOTHING_BEFORE && frame.seq === this.lastSeq + 1 && after.toLowerCase() !== this.digest) {
      this.missingBetween.push(frame.start);
    }
  }

  advance(frame) {
    this.lost += frame.seq - this.lastSeq - 1;
    Object.assign(this, { end: frame.end, lastSeq: frame.seq, last: frame });
    this.digest = digestOf(this.bytes.subarray(frame.start, frame.end));
  }
}

// --- snapshots

function splitLine(bytes) {
  const at = bytes.indexOf(0x0a);
  return at < 0 ? [bytes, bytes.subarray(0, 0)] : [bytes.subarray(0, at), bytes.subarray(at + 1)];
}

function fieldsOf(bytes) {
  try {
    const fields = JSON.parse(textOf(bytes));
    return fields && typeof fields === 'object' ? fields : {};
  } catch (error) {
    if (error instanceof SyntaxError) return {};
    throw error;
  }
}

/** The documents of a snapshot as changes, or null when any byte is not as written. */
function readSnapshot(bytes, basis) {
  const [first, body] = splitLine(bytes || new Uint8Array());
  const fields = fieldsOf(first.subarray(0, SNAPSHOT_START_BYTES + 1));
  const isNamed =
    fields.format === 'sumpside-snapshot' &&
    (fields.version === 1 || fields.version === 2) &&
    fields.generation === basis.generation &&
    fields.replay_from === basis.replayFrom &&
    fields.replay_after_seq === basis.replayAfter &&
    'checked_by' in fields;
  const after = fields.version === 1 ? '' : fields.after;
  if (!isNamed || typeof after !== 'string') return null;
  if (fields.sha256 !== sha256(joinedBytes(new TextEncoder().encode(after), body))) return null;
  const text = textOf(body);
  const lines = text === null ? [] : text.split('\n').slice(0, -1);
  if (lines.length !== fields.checked + fields.unread) return null;
  const ops = [];
  for (const line of lines) {
    const node = readJson(line);
    if (!node || node.kind !== 'list' || node.items.length !== 3) return null;
    const [table, id, doc] = node.items;
    ops.push({ table: table.value, id: id.value, raw: line.slice(doc.from, doc.to) });
  }
  return { ops, after: after || NOTHING_BEFORE };
}

function newestSnapshot(files, named) {
  const lost = [];
  for (const basis of named.filter(({ generation }) => generation)) {
    const name = `snapshot-${basis.generation}`;
    const found = readSnapshot(files.get(name), basis);
    if (found) return { ...found, basis, lost };
    if (lost.includes(name)) continue;
    lost.push(name);
  }
  return { ops: [], after: NOTHING_BEFORE, basis: null, lost };
}

/** What the snapshots say of themselves, for a journal whose header is gone. */
function snapshotsLeft(files) {
  const found = [];
  for (const [name, bytes] of files) {
    if (!name.startsWith('snapshot-')) continue;
    const fields = fieldsOf(splitLine(bytes.subarray(0, SNAPSHOT_START_BYTES))[0]);
    const basis = {
      generation: fields.generation,
      replayFrom: fields.replay_from,
      replayAfter: fields.replay_after_seq,
    };
    if (Object.values(basis).every(isWhole)) found.push(basis);
  }
  return found.sort((a, b) => b.generation - a.generation);
}

// --- all of it

/**
 * Read a journal; `files` are the bytes by name of the folder that it lies in, perhaps without it.
 *
 * Returns places as `[start, end]` in bytes: `damaged` has something sound behind it, `tail` has
 * not. `ops` are the changes, oldest first, a document as the text that was saved.
 */
export function readJournal(files) {
  const journal = files.get('journal') || new Uint8Array();
  const headers = headersOf(journal);
  const named = headers.filter(({ version }) => version <= FORMAT_VERSION);
  let { ops, after, basis, lost } = newestSnapshot(files, named);
  let leftOver = [];
  if (!headers.length) {
    ({ ops, after, basis } = newestSnapshot(files, snapshotsLeft(files)));
    lost = [];
    if (!basis) leftOver = [...files.keys()].filter((name) => Number((SNAPSHOT.exec(name) || [])[1]));
  }
  const start = basis ? basis.replayFrom : DATA_START;
  const size = journal.length;
  const { frames, damaged } = scan(journal, Math.min(start, journal.length));
  const assembly = new Assembly(journal, start, basis ? basis.replayAfter : 0, after);
  frames.forEach((frame) => assembly.take(frame));
  assembly.finish();
  const header = headers[0] || null;
  const isNothing = !header && !basis && !frames.length;
  const end = Math.max(assembly.end, DATA_START);
  return {
    size,
    header,
    headers,
    basis,
    missing: basis ? Math.max(0, start - journal.length) : 0,
    snapshotsLost: lost,
    leftOver,
    frames: frames.length,
    ops: [...ops, ...assembly.ops],
    damaged: [...damaged, ...assembly.unreadable]
      .filter(([from]) => from < assembly.end)
      .sort((a, b) => a[0] - b[0]),
    tail: end < size ? [end, size] : null,
    end: assembly.end,
    lastSeq: assembly.lastSeq,
    last: assembly.last,
    lost: assembly.lost,
    missingBetween: assembly.missingBetween,
    newer: assembly.newer || Boolean(header && header.version > FORMAT_VERSION),
    newerSpans: assembly.newerSpans,
    isUnreadable: isNothing && (size > DATA_START || leftOver.length > 0),
  };
}

/**
 * Hold a journal against the mark of what was acknowledged.
 *
 * Returns null without a mark of the same epoch, else `{missing, differs}`: how many acknowledged
 * frames are not there at the end, and whether the one it names is there with another content.
 */
export function heldAgainst(mark, found, journal) {
  const { header } = found;
  if (!mark || !header || mark.epoch !== header.epoch || mark.lineage !== header.lineage) return null;
  const missing = Math.max(0, mark.frame - found.lastSeq);
  const isThere = digestOf(journal.subarray(mark.start, mark.end)).startsWith(mark.digest);
  return { missing, differs: !missing && mark.frame > 0 && !isThere };
}
