// What happens is told to the test's server by asking for a file that is not there.
const home = '/home/pyodide';
const report = (text) => fetch(`report/${encodeURIComponent(text)}`);
const job = Object.fromEntries(new URL(self.location.href).searchParams);

async function run() {
  const { loadPyodide } = await import('./pyodide/pyodide.mjs');
  const python = await loadPyodide();
  for (const name of ['app.zip', 'tests.zip']) {
    const answer = await fetch(name);
    python.unpackArchive(await answer.arrayBuffer(), 'zip', { extractDir: home });
  }
  python.registerJsModule('storage_job', { ...job, report });
  await python.runPythonAsync(`
import sys
sys.path[:0] = ['${home}', '${home}/__pypackages__']
from tests.support import storage_page
await storage_page.run()
`);
}

run().catch((error) => report(JSON.stringify({ error: String(error) })));
