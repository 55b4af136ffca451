// The module worker that runs Python: the runtime, our archive, then mobile.main.
// Each stage is a function of its own, so that a stored interpreter can take the place of one.
const HOME = '/home/pyodide';
const MAIN = `
import runpy, sys
sys.path[:0] = ['${HOME}', '${HOME}/__pypackages__']
runpy.run_module('mobile.main', run_name='__main__')
`;
const base = new URL('./', self.location.href).pathname;
const build = new URL(self.location.href).searchParams.get('v');

const flet_js = {}; // Flet's Python side puts its functions here
const answers = new Map(); // request id -> {resolve, reject}
const waiting = []; // events that came before Python listened
let lastRequest = 0;
let listener = null;
let resolveStart;
const start = new Promise((resolve) => {
  resolveStart = resolve;
});

const step = (name) => self.postMessage({ kind: 'step', step: name });
const fail = (error) =>
  self.postMessage({ kind: 'failed', detail: (error && error.stack) || String(error) });

function host({ locale }) {
  const { hour12 } = new Intl.DateTimeFormat(locale, { hour: 'numeric' }).resolvedOptions();
  return {
    base,
    build,
    locale,
    hour12: Boolean(hour12),
    post: (name, text) => self.postMessage({ kind: 'post', name, text }),
    request: (name, text) =>
      new Promise((resolve, reject) => {
        lastRequest += 1;
        answers.set(lastRequest, { resolve, reject });
        self.postMessage({ kind: 'request', id: lastRequest, name, text });
      }),
    listen(callback) {
      listener = callback;
      for (const [name, text] of waiting.splice(0)) listener(name, text);
    },
  };
}

// A file that cannot be loaded ends the start with its name: the runtime would only stand still.
const plainFetch = self.fetch;
self.fetch = async (asked, options) => {
  const { pathname } = new URL(asked instanceof Request ? asked.url : asked, self.location.href);
  const name = pathname.startsWith(base) ? pathname.slice(base.length) : pathname;
  try {
    const response = await plainFetch(asked, options);
    if (!response.ok) fail(`${name}: HTTP ${response.status}`);
    return response;
  } catch (error) {
    fail(`${name}: ${error}`);
    throw error;
  }
};

async function fetchArchive() {
  const response = await fetch(`${base}app.zip`);
  if (!response.ok) throw new Error(`app.zip: HTTP ${response.status}`);
  return response.arrayBuffer();
}

async function startInterpreter() {
  step('python');
  const { loadPyodide } = await import('./pyodide/pyodide.mjs').catch((error) => {
    throw new Error(`pyodide/pyodide.mjs: ${error}`);
  });
  return loadPyodide({
    stdout: (text) => console.log(text),
    stderr: (text) => console.error(text),
  });
}

function unpack(python, archive) {
  step('unpack');
  python.unpackArchive(archive, 'zip', { extractDir: HOME });
}

async function runApp(python, message) {
  self.fetch = plainFetch;
  step('records');
  flet_js.documentUrl = message.documentUrl;
  python.registerJsModule('flet_js', flet_js);
  python.registerJsModule('sumpside_host', host(message));
  await python.runPythonAsync(MAIN);
  if (typeof flet_js.start_connection !== 'function') throw new Error('The app drew no screen');
  await flet_js.start_connection((frame) => {
    const bytes = frame.toJs();
    self.postMessage(bytes, [bytes.buffer]);
  });
  self.postMessage({ kind: 'ready' });
}

async function boot() {
  const archive = fetchArchive();
  archive.catch(() => {}); // reported where it is awaited, below
  const python = await startInterpreter();
  unpack(python, await archive);
  await runApp(python, await start);
}

function toPython(action) {
  try {
    action();
  } catch (error) {
    if (error && error.name === 'PythonError') console.error(error.message);
    else fail(error); // the interpreter is gone: every further call would fail too
  }
}

self.onmessage = ({ data }) => {
  if (data instanceof Uint8Array) {
    toPython(() => flet_js.send(data));
  } else if (data.kind === 'start') {
    resolveStart(data);
  } else if (data.kind === 'answer') {
    const { resolve, reject } = answers.get(data.id);
    answers.delete(data.id);
    if (data.error) reject(new Error(data.error));
    else resolve(data.text);
  } else if (listener) {
    toPython(() => listener(data.name, data.text));
  } else {
    waiting.push([data.name, data.text]);
  }
};

boot().catch(fail);
