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
const ROUND = Uint32Array.from(PRIMES, (p) => fraction(Math.cbrt(p)));
const START = Uint32Array.from(PRIMES.slice(0, 8), (p) => fraction(Math.sqrt(p)));

function mixBlock(hash, view, at, w) {
  for (let i = 0; i < 16; i += 1) w[i] = view.getUint32(at + 4 * i);
  for (let i = 16; i < 64; i += 1) {
    const a = w[i - 15];
    const b = w[i - 2];
    const s0 = ((a >>> 7) | (a << 25)) ^ ((a >>> 18) | (a << 14)) ^ (a >>> 3);
    const s1 = ((b >>> 17) | (b << 15)) ^ ((b >>> 19) | (b << 13)) ^ (b >>> 10);
    w[i] = w[i - 16] + s0 + w[i - 7] + s1;
  }
  let [a, b, c, d, e, f, g, h] = hash;
  for (let i = 0; i < 64; i += 1) {
    const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const first = (h + s1 + ((e & f) ^ (~e & g)) + ROUND[i] + w[i]) | 0;
    const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const second = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + first) | 0, c, b, a, (first + second) | 0];
  }
  [a, b, c, d, e, f, g, h].forEach((value, i) => {
    hash[i] += value;
  });
}

/** SHA-256 of bytes, as 64 lower-case hex digits. */
export function sha256(bytes) {
  const whole = bytes.length - (bytes.length % 64);
  const rest = new Uint8Array(bytes.length % 64 < 56 ? 64 : 128);
  rest.set(bytes.subarray(whole));
  rest[bytes.length - whole] = 0x80;
  new DataView(rest.buffer).setBigUint64(rest.length - 8, BigInt(bytes.length) * 8n);
  const hash = START.slice();
  const scratch = new Uint32Array(64);
  for (const [part, end] of [
    [bytes, whole],
    [rest, rest.length],
  ]) {
    const view = new DataView(part.buffer, part.byteOffset, part.byteLength);
    for (let at = 0; at < end; at += 64) mixBlock(hash, view, at, scratch);
  }
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
