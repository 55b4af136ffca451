// Takes the files of Sumpside out of this browser's two stores, by reading alone: no lock, no
// handle for writing, and neither a folder nor a database is made. The app may hold them meanwhile.

import { folderName } from './recovery_records.js';

const WANTED = /^(journal|journal-next|erasing|acknowledged|second-copy|second-copy-mark|snapshot-.*|quarantine-.*)$/;
// Before what they speak of: a mark that is read later may tell of what came after the journal.
const FIRST = ['erasing', 'acknowledged', 'second-copy-mark'];
const MOST_FOLDERS = 9; // as mobile/browser/places.py
const TRIES = 10;
const PATIENCE_ms = 30000;
const NONE = 'NotFoundError';

/** Wait for a promise, but not for ever: a store that does not answer is told of as well. */
function inTime(promise) {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error('no answer in 30 s')), PATIENCE_ms);
    promise.then(resolve, reject).finally(() => clearTimeout(late));
  });
}

async function orNull(promise) {
  try {
    return await promise;
  } catch (error) {
    if (error.name === NONE) return null;
    throw error;
  }
}

/** The bytes of a file; a file that is written to while it is read is asked for again. */
async function bytesOf(handle) {
  for (let left = TRIES; ; left -= 1) {
    try {
      return new Uint8Array(await (await handle.getFile()).arrayBuffer());
    } catch (error) {
      if (error.name === NONE) return null; // gone since it was listed
      if (error.name !== 'NotReadableError' || !left) throw error;
    }
  }
}

async function wantedIn(directory) {
  const found = [];
  for await (const [name, handle] of directory.entries()) {
    if (handle.kind === 'file' && WANTED.test(name)) found.push([name, handle]);
  }
  return found.sort(([a], [b]) => FIRST.includes(b) - FIRST.includes(a));
}

async function folderFiles(directory, failures, where) {
  const files = new Map();
  for (const [name, handle] of await wantedIn(directory)) {
    try {
      const bytes = await bytesOf(handle);
      if (bytes) files.set(name, bytes);
    } catch (error) {
      failures.push({ where: `${where}/${name}`, error: String(error) });
    }
  }
  return files;
}

async function fileStores(base, failures) {
  if (!navigator.storage || !navigator.storage.getDirectory) return [];
  const root = await navigator.storage.getDirectory();
  const found = [];
  for (let number = 1; number <= MOST_FOLDERS; number += 1) {
    const folder = folderName(base, number);
    const directory = await orNull(root.getDirectoryHandle(folder));
    if (!directory) continue;
    const files = await folderFiles(directory, failures, `opfs ${folder}`);
    found.push({ kind: 'opfs', folder, files });
  }
  return found;
}

/** The database, or null where there is none: one that opening would make is given up again. */
function openDatabase(name) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(name);
    let isNew = false;
    request.onupgradeneeded = () => {
      isNew = true;
      request.transaction.abort();
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close(); // never in the app's way
      resolve(request.result);
    };
    request.onerror = (event) => {
      event.preventDefault();
      if (isNew) resolve(null);
      else reject(request.error);
    };
  });
}

/** Rows of one file, put where they start; see mobile/browser/idb.py. */
function joined(keys, values) {
  const end = keys.reduce((most, [, start], i) => Math.max(most, start + values[i].length), 0);
  const bytes = new Uint8Array(end);
  keys.forEach(([, start], i) => bytes.set(values[i], start));
  return bytes;
}

function readDatabase(database) {
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(['files', 'rows'], 'readonly');
    const rows = transaction.objectStore('rows');
    const taken = new Map();
    const take = (name) => {
      const range = IDBKeyRange.bound([name, 0], [name, 1e15]);
      taken.set(name, [rows.getAllKeys(range), rows.getAll(range)]);
    };
    const names = transaction.objectStore('files').getAllKeys();
    names.onsuccess = () => names.result.filter((name) => WANTED.test(name)).forEach(take);
    transaction.onabort = () => reject(transaction.error);
    transaction.oncomplete = () => {
      const files = [...taken].map(([name, [keys, values]]) => [name, joined(keys.result, values.result)]);
      resolve(new Map(files));
    };
  });
}

async function databaseStores(base) {
  const name = folderName(base);
  if (!window.indexedDB) return [];
  // Where that can be asked: WebKit goes on listing a database whose making was given up.
  const listed = indexedDB.databases && (await indexedDB.databases());
  if (listed && !listed.some((each) => each.name === name)) return [];
  const database = await openDatabase(name);
  if (!database) return [];
  try {
    const has = (store) => database.objectStoreNames.contains(store);
    if (!has('files') || !has('rows')) return [];
    return [{ kind: 'idb', folder: name, files: await readDatabase(database) }];
  } finally {
    database.close();
  }
}

/** All of the site below a base: `{stores, failures}`, a failure for each place that stays shut. */
export async function lookUnder(base) {
  const name = folderName(base);
  const failures = [];
  const stores = [];
  for (const [where, look] of [
    [`opfs ${name}`, fileStores],
    [`idb ${name}`, databaseStores],
  ]) {
    try {
      stores.push(...(await inTime(look(base, failures))));
    } catch (error) {
      failures.push({ where, error: String(error) });
    }
  }
  return { stores, failures };
}
