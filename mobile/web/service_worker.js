'use strict';
// Keeps the whole app offline. Files are stored once by their SHA-256; each version of the app is
// a list name -> SHA-256, and every open page or worker is answered from the version it started
// with. A new version is stored completely or not at all, then waits until it is asked for.
// What the browser dropped is fetched again, checked, and put back. A page that cannot be given
// is answered with a short one carried in this very script.
const { base, build, policy, files, parts, short } = __SETTINGS__;
const BLOBS = `sumpside-blobs${base}`;
const VERSIONS = `sumpside-versions${base}`;
const LOCK = `sumpside-files${base}`;
const FALLBACK_FONT = 'assets/fonts/fallback.ttf';
const NOTICES = 'notices.json'; // recalls: from the network or not at all
const AT_ONCE = 4; // parallel downloads
// How long a network may stay silent, without one byte, before a download is given up. A page
// waits for a repair: 15 s after its start it must have named what is missing.
const SILENT_ms = 8000;
const SILENT_install_ms = 60000;

const blobKey = (sha256) => `${base}.blob/${sha256}`;
const versionKey = (id) => `${base}.version/${id}`;
const PENDING = `${base}.pending`; // the version being downloaded: what it has is kept for a retry
const CLIENTS = `${base}.clients`; // client id -> version, since this script can be stopped any time

async function readRecord(key) {
  const stored = await (await caches.open(VERSIONS)).match(key);
  return stored ? stored.json() : null;
}

async function writeRecord(key, value) {
  await (await caches.open(VERSIONS)).put(key, new Response(JSON.stringify(value)));
}

const shasOf = (list) => Object.values(list).map(([sha256]) => sha256);

// --- downloading: a file is seen by nobody before it was checked ---

class Unavailable extends Error {
  // `why`: 'unreachable', 'silent' (taken and never answered) or 'other' (not our file)
  constructor(name, why, detail) {
    super(`${name}: ${detail}`);
    Object.assign(this, { file: name, why });
  }
}

async function checkContent(response, name, [sha256, size], heard) {
  const reader = response.clone().body.getReader();
  const content = new Uint8Array(size);
  let taken = 0;
  for (let { done, value } = await reader.read(); !done; { done, value } = await reader.read()) {
    heard();
    if (taken + value.length > size) throw new Unavailable(name, 'other', 'larger than it is');
    content.set(value, taken);
    taken += value.length;
  }
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', content));
  const found = Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
  if (taken !== size || found !== sha256) throw new Unavailable(name, 'other', 'another content');
}

async function download(name, entry, cache, silent_ms) {
  const aborter = new AbortController();
  let timer;
  const heard = () => {
    clearTimeout(timer);
    timer = setTimeout(() => aborter.abort(), silent_ms);
  };
  heard();
  try {
    const response = await fetch(base + name, { cache, signal: aborter.signal });
    if (!response.ok) throw new Unavailable(name, 'other', `HTTP ${response.status}`);
    await checkContent(response, name, entry, heard);
    return response;
  } catch (error) {
    const why = aborter.signal.aborted ? 'silent' : 'unreachable';
    aborter.abort(); // the rest of a refused answer
    throw error instanceof Unavailable ? error : new Unavailable(name, why, error);
  } finally {
    clearTimeout(timer);
  }
}

async function eachAtOnce(list, work) {
  const rest = [...list];
  const next = async () => {
    for (let item = rest.pop(); item; item = rest.pop()) await work(item);
  };
  await Promise.all(Array.from({ length: AT_ONCE }, next));
}

// The files of some lists whose content is not stored, one for each content: [name, entry].
async function missingOf(...lists) {
  const keys = await (await caches.open(BLOBS)).keys();
  const there = new Set(keys.map(({ url }) => new URL(url).pathname));
  const bySha = new Map(lists.flatMap(Object.entries).map((item) => [item[1][0], item]));
  return [...bySha.values()].filter(([, [sha256]]) => !there.has(blobKey(sha256)));
}

// --- installing: everything, checked, or nothing ---

async function install() {
  await navigator.locks.request(LOCK, async () => {
    await writeRecord(PENDING, files);
    const blobs = await caches.open(BLOBS);
    await eachAtOnce(await missingOf(files), async ([name, entry]) => {
      // What the page itself has just loaded is not loaded twice, only asked about.
      const response = await download(name, entry, 'no-cache', SILENT_install_ms);
      await blobs.put(blobKey(entry[0]), response);
    });
    await writeRecord(versionKey(build), files);
    await (await caches.open(VERSIONS)).delete(PENDING);
  });
}

// --- healing: what the browser dropped is put back ---

const coming = new Map(); // SHA-256 -> a download under way, shared by all who want it

async function putBack(name, entry) {
  // Never out of the browser's own cache: another network's page may lie there under our name.
  const response = await download(name, entry, 'reload', SILENT_ms);
  try {
    await (await caches.open(BLOBS)).put(blobKey(entry[0]), response.clone());
  } catch (error) {
    console.info(`${name} was fetched and could not be kept: ${error}`);
  }
  return response;
}

function fetchBack(name, entry) {
  const [sha256] = entry;
  if (!coming.has(sha256)) {
    const download = putBack(name, entry).finally(() => coming.delete(sha256));
    coming.set(sha256, download);
  }
  return coming.get(sha256).then((response) => response.clone());
}

async function missingInUse() {
  const lists = await Promise.all([...(await versionsInUse())].map(filesOf));
  return missingOf(...lists.filter(Boolean));
}

let healing = null;
const watchers = new Set(); // told [done, of]

// One round: each missing file once. A network that is not there ends it.
async function healOnce() {
  const missing = await missingInUse();
  const left = [];
  let done = 0;
  let gone = null;
  await eachAtOnce(missing, async ([name, entry]) => {
    try {
      if (gone) throw new Unavailable(name, gone, 'not tried');
      await fetchBack(name, entry);
    } catch ({ why }) {
      left.push({ name, why });
      if (why !== 'other') gone = why;
    }
    done += 1;
    for (const watcher of watchers) watcher(done, missing.length);
  });
  return left;
}

function heal() {
  healing ??= healOnce().finally(() => {
    healing = null;
  });
  return healing;
}

async function repair(port) {
  const watcher = (done, of) => port.postMessage({ done, of });
  watchers.add(watcher);
  try {
    const left = await heal();
    const still = new Set((await missingInUse()).map(([name]) => name));
    for (const { name } of left) still.delete(name);
    port.postMessage({ left: [...left, ...[...still].map((name) => ({ name, why: 'full' }))] });
  } finally {
    watchers.delete(watcher);
  }
}

// --- which version a page or worker runs ---

let clientVersions = null;

async function versions() {
  clientVersions ??= readRecord(CLIENTS).then((stored) => new Map(Object.entries(stored || {})));
  return clientVersions;
}

async function remember(clientId, version) {
  const map = await versions();
  if (map.get(clientId) === version) return;
  map.set(clientId, version);
  await writeRecord(CLIENTS, Object.fromEntries(map));
}

async function versionOf(clientId) {
  if (!clientId) return build;
  const known = (await versions()).get(clientId);
  if (known) return known;
  const client = await self.clients.get(clientId);
  return (client && new URL(client.url).searchParams.get('v')) || build; // a worker names its own
}

async function filesOf(version) {
  return version === build ? files : readRecord(versionKey(version));
}

async function versionsInUse() {
  const open = await self.clients.matchAll({ includeUncontrolled: true, type: 'all' });
  const ours = open.filter(({ url }) => new URL(url).pathname.startsWith(base));
  return new Set([build, ...(await Promise.all(ours.map(({ id }) => versionOf(id))))]);
}

// --- answering ---

async function stored(event, list, name) {
  const [sha256, , type] = list[name];
  let response = await (await caches.open(BLOBS)).match(blobKey(sha256));
  if (!response) {
    response = await fetchBack(name, list[name]);
    event.waitUntil(heal()); // where one was dropped and the network is there, all come back
  }
  if (!type.startsWith('text/html') && name !== 'python_worker.js') return response;
  // Pages and the worker carry the policy even from a host that sends no headers.
  return new Response(response.body, { headers: headersOf(type) });
}

function headersOf(type) {
  return { 'Content-Type': type, 'Content-Security-Policy': policy };
}

// A page is given with the scripts and styles that it cannot do without, or not at all.
async function page(event, name) {
  try {
    await Promise.all((parts[name] || []).map((part) => stored(event, files, part)));
    return await stored(event, files, name);
  } catch (error) {
    console.info(`Short page in place of ${name}: ${error}`);
    const found = name === 'emergency.html' ? short.card : short.start;
    const text = found.replaceAll('__FILE__', error.file || name).replaceAll('__BASE__', base);
    return new Response(text, { status: 503, headers: headersOf('text/html; charset=utf-8') });
  }
}

async function answer(event, name) {
  const { clientId, resultingClientId, request } = event;
  if (request.mode === 'navigate') {
    event.waitUntil(remember(resultingClientId, build));
    const isPage = files[name] && files[name][2].startsWith('text/html');
    return page(event, isPage ? name : 'index.html');
  }
  const version = await versionOf(clientId);
  if (resultingClientId) event.waitUntil(remember(resultingClientId, version));
  const list = await filesOf(version);
  if (!list) return fetch(request); // it came from the host before we did, and stays with it
  if (name.startsWith('assets/fonts/noto')) return stored(event, list, FALLBACK_FONT);
  return list[name] ? stored(event, list, name) : new Response('', { status: 404 });
}

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin) {
    event.respondWith(Response.error()); // nothing leaves this origin
  } else if (url.pathname === base + NOTICES) {
    // Never stored. Offline the answer is empty, which changes nothing and is no error of the page.
    event.respondWith(fetch(event.request).catch(() => new Response(null, { status: 204 })));
  } else if (url.pathname.startsWith(base) && event.request.method === 'GET') {
    event.respondWith(answer(event, url.pathname.slice(base.length)));
  }
});

// --- old versions go when nothing runs them ---

async function clean() {
  await navigator.locks.request(LOCK, async () => {
    if (self.registration.installing || self.registration.waiting) return;
    const open = await self.clients.matchAll({ includeUncontrolled: true, type: 'all' });
    const map = await versions();
    const ids = new Set(open.map(({ id }) => id));
    for (const id of [...map.keys()]) if (!ids.has(id)) map.delete(id);
    await writeRecord(CLIENTS, Object.fromEntries(map));
    const used = await versionsInUse();
    const records = await caches.open(VERSIONS);
    const kept = new Set(shasOf((await readRecord(PENDING)) || {}));
    for (const version of used) for (const sha of shasOf((await filesOf(version)) || {})) kept.add(sha);
    for (const request of await records.keys()) {
      const [, id] = new URL(request.url).pathname.split('.version/');
      if (id && !used.has(id)) await records.delete(request);
    }
    const blobs = await caches.open(BLOBS);
    for (const request of await blobs.keys()) {
      const [, sha256] = new URL(request.url).pathname.split('.blob/');
      if (!kept.has(sha256)) await blobs.delete(request);
    }
  });
}

self.addEventListener('install', (event) => event.waitUntil(install()));
self.addEventListener('activate', (event) =>
  event.waitUntil(self.clients.claim().then(clean)),
);
self.addEventListener('message', (event) => {
  const { kind, build: version } = event.data;
  const [port] = event.ports;
  const kinds = {
    apply: () => self.skipWaiting(),
    hello: () => remember(event.source.id, version).then(clean).then(heal),
    missing: async () => {
      const missing = await missingOf((await filesOf(version)) || {});
      const names = missing.map(([name]) => name);
      port.postMessage({ found: { names, isComing: Boolean(healing || coming.size) } });
    },
    repair: () => repair(port),
  };
  event.waitUntil(kinds[kind]());
});
