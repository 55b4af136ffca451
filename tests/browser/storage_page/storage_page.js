'use strict';
// Runs one job of tests/support/storage_page.py in a worker, as the app runs its storage.
const worker = new Worker(`storage_worker.js${window.location.search}`, { type: 'module' });
worker.onerror = (event) => fetch(`report/${encodeURIComponent(`{"error":"${event.message}"}`)}`);
