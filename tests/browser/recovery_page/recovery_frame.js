'use strict';
// Watches the recovery page in a frame and tells the test's server what it shows and saves; with a
// `job`, while a worker beside it runs that job of the storage page and holds the store.
const asked = new URLSearchParams(window.location.search);
const report = (facts) => fetch(`report/${encodeURIComponent(JSON.stringify(facts))}`);
const PART = 150; // characters: the server takes the name of a file, not more
const pause = () => new Promise((resolve) => setTimeout(resolve, 100));

async function settled(frame) {
  for (;;) {
    const state = frame.contentDocument && frame.contentDocument.getElementById('state');
    if (state && !/^(Looking|Not started)/.test(state.textContent)) return state.textContent;
    await pause();
  }
}

/** Press "Look again", and take the bytes of what the page then offers. */
async function lookAgain(frame) {
  const { URL: addresses } = frame.contentWindow;
  const { createObjectURL } = addresses;
  const offered = [];
  addresses.createObjectURL = (blob) => {
    offered.push(blob);
    return createObjectURL.call(addresses, blob);
  };
  frame.contentDocument.getElementById('again').click();
  const state = await settled(frame);
  addresses.createObjectURL = createObjectURL;
  return { state, saved: offered.length ? await offered[0].text() : '' };
}

async function stores() {
  const names = [];
  if (navigator.storage && navigator.storage.getDirectory) {
    for await (const name of (await navigator.storage.getDirectory()).keys()) names.push(name);
  }
  const databases = await indexedDB.databases();
  return { names, databases: databases.map(({ name }) => name) };
}

async function reportInParts(facts) {
  const text = JSON.stringify(facts);
  for (let at = 0; at < text.length; at += PART) await report({ part: text.slice(at, at + PART) });
  await report({ letters: text.length });
}

async function watch() {
  const frame = document.createElement('iframe');
  frame.src = 'recovery.html';
  document.body.append(frame);
  await settled(frame);
  for (;;) {
    const { state, saved } = await lookAgain(frame);
    if (parseInt(state, 10) >= Number(asked.get('least')) || !asked.get('least')) {
      const text = frame.contentDocument.querySelector('main').innerText;
      return { recovery: state, saved, text, ...(await stores()) };
    }
    await pause();
  }
}

window.addEventListener('load', () => {
  if (asked.get('job')) {
    new Worker(`storage_worker.js${window.location.search}`, { type: 'module' });
  }
  watch().then(reportInParts).catch((error) => report({ error: String(error.stack || error) }));
});
