'use strict';
// Starts the Python worker before anything else and carries the messages between Python,
// Flutter (jsConnect, jsSend, jsDisconnect are its names) and the page.
(() => {
  const worker = new Worker(`${sumpside.base}python_worker.js?v=${sumpside.build}`, {
    type: 'module',
  });
  let sendToFlutter = null;
  let started;
  const ready = new Promise((resolve) => {
    started = resolve;
  });

  const handlers = {
    step: ({ step }) => sumpside.tell('step', step),
    ready: () => started(),
    failed: ({ detail }) => sumpside.fail(detail),
    post: ({ name, text }) => sumpside.tell(`python:${name}`, JSON.parse(text)),
    async request({ id, name, text }) {
      const answer = sumpside.answers[name];
      try {
        if (!answer) throw new Error(`The page has no answer to ${name}`);
        const value = await answer(JSON.parse(text));
        worker.postMessage({ kind: 'answer', id, text: JSON.stringify(value ?? null) });
      } catch (error) {
        worker.postMessage({ kind: 'answer', id, error: String(error) });
      }
    },
  };

  worker.onmessage = ({ data }) => {
    if (data instanceof Uint8Array) {
      sendToFlutter(data);
      sumpside.tell('drawn');
    } else {
      handlers[data.kind](data);
    }
  };
  worker.onerror = (event) => sumpside.fail(`python_worker.js: ${event.message || 'it did not load'}`);

  worker.postMessage({
    kind: 'start',
    documentUrl: document.URL,
    locale: navigator.language,
  });

  sumpside.answers = {}; // request name -> function, filled by page.js and update.js
  sumpside.toPython = (name, value) =>
    worker.postMessage({ kind: 'event', name, text: JSON.stringify(value ?? null) });

  window.jsConnect = async (_app, _args, onMessage) => {
    sendToFlutter = onMessage;
    await ready; // never, when Python failed: the page then says so
  };
  window.jsSend = async (_app, data) => worker.postMessage(data, [data.buffer]);
  window.jsDisconnect = async () => {
    sendToFlutter = () => {};
  };
})();
