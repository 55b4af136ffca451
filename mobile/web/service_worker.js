'use strict';
// Keeps the whole app offline. Files are stored once by their SHA-256; each version of the app is
// a list name -> SHA-256, and every open page or worker is answered from the version it started
// with. A new version is stored completely or not at all, then waits until it is asked for.
const { base, build, policy, files } = __SETTINGS__;
const BLOBS = `sumpside-blobs${base}`;
const VERSIONS = `sumpside-versions${base}`;
const LOCK = `sumpside-files${base}`;
const FALLBACK_FONT = 'assets/fonts/fallback.ttf';
const NOTICES = 'notices.json'; // recalls: from the network or not at all
const AT_ONCE = 4; // parallel downloads

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

function integrity(sha256) {
  const bytes = sha256.match(/../g).map((hex) => parseInt(hex, 16));
  return `sha256-${btoa(String.fromCharCode(...bytes))}`;
}

async function download(name, sha256) {
  const request = new Request(base + name, { cache: 'no-cache', integrity: integrity(sha256) });
  const response = await fetch(request);
  if (!response.ok) throw new Error(`${name}: HTTP ${response.status}`);
  return response;
}

// --- installing: everything, checked, or nothing ---

async function install() {
  await navigator.locks.request(LOCK, async () => {
    await writeRecord(PENDING, files);
    const blobs = await caches.open(BLOBS);
    const stored = new Set((await blobs.keys()).map(({ url }) => new URL(url).pathname));
    const byContent = new Map(Object.entries(files).map(([name, [sha256]]) => [sha256, name]));
    const missing = [...byContent].filter(([sha256]) => !stored.has(blobKey(sha256)));
    const fetchNext = async () => {
      for (let next = missing.pop(); next; next = missing.pop()) {
        const [sha256, name] = next;
        await blobs.put(blobKey(sha256), await download(name, sha256));
      }
    };
    await Promise.all(Array.from({ length: AT_ONCE }, fetchNext));
    await writeRecord(versionKey(build), files);
    await (await caches.open(VERSIONS)).delete(PENDING);
  });
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

// --- answering ---

async function stored(list, name) {
  const [sha256, , type] = list[name];
  const blob = await (await caches.open(BLOBS)).match(blobKey(sha256));
  const response = blob || (await download(name, sha256)); // the browser dropped a stored file
  if (!type.startsWith('text/html') && name !== 'python_worker.js') return response;
  // Pages and the worker carry the policy even from a host that sends no headers.
  const headers = { 'Content-Type': type, 'Content-Security-Policy': policy };
  return new Response(response.body, { headers });
}

async function answer(event, name) {
  const { clientId, resultingClientId, request } = event;
  if (request.mode === 'navigate') {
    event.waitUntil(remember(resultingClientId, build));
    const isPage = files[name] && files[name][2].startsWith('text/html');
    return stored(files, isPage ? name : 'index.html');
  }
  const version = await versionOf(clientId);
  if (resultingClientId) event.waitUntil(remember(resultingClientId, version));
  const list = await filesOf(version);
  if (!list) return fetch(request); // it came from the host before we did, and stays with it
  if (name.startsWith('assets/fonts/noto')) return stored(list, FALLBACK_FONT);
  return list[name] ? stored(list, name) : new Response('', { status: 404 });
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
    const used = new Set([build, ...(await Promise.all([...ids].map(versionOf)))]);
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
  if (kind === 'apply') event.waitUntil(self.skipWaiting());
  if (kind === 'hello') event.waitUntil(remember(event.source.id, version).then(clean));
});
