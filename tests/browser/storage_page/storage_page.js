'use strict';
// Runs one job of tests/support/storage_page.py in a worker, as the app runs its storage; with
// `workers=2` in two of them, as two tabs would.
const asked = new URLSearchParams(window.location.search);
for (let n = 0; n < Number(asked.get('workers') || 1); n += 1) {
  const worker = new Worker(`storage_worker.js${window.location.search}`, { type: 'module' });
  worker.onerror = (event) => fetch(`report/${encodeURIComponent(`{"error":"${event.message}"}`)}`);
}
