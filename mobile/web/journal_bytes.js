// What the journal's bytes are checked and read with: CRC-32, SHA-256, JSON with its own spelling.
// Own code, since crypto.subtle is missing on plain http, and JSON.parse loses how a number was
// written (8.0 becomes 8): a record must leave this page letter for letter as it was saved.

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value;
});

/** CRC-32 (IEEE) of bytes, going on from an earlier one. */
export function crc32(bytes, before = 0) {
  let crc = ~before;
  for (let i = 0; i < bytes.length; i += 1) crc = CRC_TABLE[(crc ^ bytes[i]) & 255] ^ (crc >>> 8);
  return ~crc >>> 0;
}

// The first 32 bits of the fractional parts of roots of primes, as FIPS 180-4 asks.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (PRIMES.every((p) => n % p)) PRIMES.push(n);
const fraction = (root) => (root - Math.floor(root)) * 2 ** 32;
const ROUND = Int32Array.from(PRIMES, (p) => fraction(Math.cbrt(p)) | 0);
const START = Uint32Array.from(PRIMES.slice(0, 8), (p) => fraction(Math.sqrt(p)));

function mixBlock(hash, view, at, w) {
  for (let i = 0; i < 16; i += 1) w[i] = view.getInt32(at + 4 * i);
  for (let i = 16; i < 64; i += 1) {
    const x = w[i - 15];
    const y = w[i - 2];
    const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
    const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
    w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
  }
  let a = hash[0] | 0;
  let b = hash[1] | 0;
  let c = hash[2] | 0;
  let d = hash[3] | 0;
  let e = hash[4] | 0;
  let f = hash[5] | 0;
  let g = hash[6] | 0;
  let h = hash[7] | 0;
  for (let i = 0; i < 64; i += 1) {
    const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const first = (h + s1 + ((e & f) ^ (~e & g)) + ROUND[i] + w[i]) | 0;
    const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const second = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g;
    g = f;
    f = e;
    e = (d + first) | 0;
    d = c;
    c = b;
    b = a;
    a = (first + second) | 0;
  }
  hash[0] += a;
  hash[1] += b;
  hash[2] += c;
  hash[3] += d;
  hash[4] += e;
  hash[5] += f;
  hash[6] += g;
  hash[7] += h;
}

const SCRATCH = new Int32Array(64);
const REST = new Uint8Array(128); // the last bytes, a mark and the length in bits
const REST_VIEW = new DataView(REST.buffer);

/** SHA-256 of bytes, as 64 lower-case hex digits. */
export function sha256(bytes) {
  const whole = bytes.length - (bytes.length % 64);
  const end = bytes.length % 64 < 56 ? 64 : 128;
  REST.fill(0);
  REST.set(bytes.subarray(whole));
  REST[bytes.length - whole] = 0x80;
  REST_VIEW.setUint32(end - 8, bytes.length / 2 ** 29);
  REST_VIEW.setUint32(end - 4, bytes.length << 3);
  const hash = START.slice();
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = 0; at < whole; at += 64) mixBlock(hash, view, at, SCRATCH);
  for (let at = 0; at < end; at += 64) mixBlock(hash, REST_VIEW, at, SCRATCH);
  return Array.from(hash, (word) => word.toString(16).padStart(8, '0')).join('');
}

/** The text of UTF-8 bytes, or null where they are none. */
export function textOf(bytes) {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch (error) {
    if (error instanceof TypeError) return null;
    throw error;
  }
}

const DEEPEST = 100; // as engine/log/json_depth.py
const SPACE = /[ \t\n\r]*/y;
const STRING = /"[^"\\\u0000-\u001f]*(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\u0000-\u001f]*)*"/y;
const PLAIN = /true|false|null|NaN|-?Infinity|-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?/y;

/**
 * Read a JSON text, as strictly and as loosely as Python's json does.
 *
 * Returns null where it is none, or nests deeper than 100. Each node is `{kind, from, to}`, its
 * place in the text, with `items` (list), `fields` (Map, object) or `value` (string).
 */
export function readJson(text) {
  let at = 0;

  function take(pattern) {
    pattern.lastIndex = at;
    const found = pattern.exec(text);
    if (!found) return null;
    at += found[0].length;
    return found[0];
  }

  function takeSign(sign) {
    take(SPACE);
    if (text[at] !== sign) return false;
    at += 1;
    return true;
  }

  function readValue(depth) {
    take(SPACE);
    const from = at;
    const node = readAny(depth);
    return node && { ...node, from, to: at };
  }

  function readAny(depth) {
    const sign = text[at];
    if (sign === '"') return readString();
    if (sign !== '[' && sign !== '{') return take(PLAIN) === null ? null : { kind: 'plain' };
    if (depth >= DEEPEST) return null;
    at += 1;
    return sign === '[' ? readList(depth + 1) : readObject(depth + 1);
  }

  function readString() {
    const found = take(STRING);
    return found === null ? null : { kind: 'string', value: JSON.parse(found) };
  }

  function readList(depth) {
    const items = [];
    if (takeSign(']')) return { kind: 'list', items };
    for (;;) {
      const item = readValue(depth);
      if (!item) return null;
      items.push(item);
      if (takeSign(']')) return { kind: 'list', items };
      if (!takeSign(',')) return null;
    }
  }

  function readObject(depth) {
    const fields = new Map();
    if (takeSign('}')) return { kind: 'object', fields };
    for (;;) {
      take(SPACE);
      const name = readString();
      if (!name || !takeSign(':')) return null;
      const value = readValue(depth);
      if (!value) return null;
      fields.set(name.value, value);
      if (takeSign('}')) return { kind: 'object', fields };
      if (!takeSign(',')) return null;
    }
  }

  const node = readValue(0);
  take(SPACE);
  return at === text.length ? node : null;
}

/** One spelling for texts that mean the same but for order and spaces; a number stays as written. */
export function canonical(text, node = readJson(text)) {
  switch (node.kind) {
    case 'string':
      return JSON.stringify(node.value);
    case 'list':
      return `[${node.items.map((item) => canonical(text, item)).join()}]`;
    case 'object': {
      const names = [...node.fields.keys()].sort();
      const parts = names.map((name) => `${JSON.stringify(name)}:${canonical(text, node.fields.get(name))}`);
      return `{${parts.join()}}`;
    }
    default:
      return text.slice(node.from, node.to);
  }
}
