// Runs the engine's tests under the bundled Python of the browser, in Node.
//   node engine_in_pyodide.mjs JOB.json
// JOB: {runtime, mounts: [[host, inside]], script}; prints the script's result, one JSON line.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const job = JSON.parse(readFileSync(process.argv[2], "utf8"));
const { loadPyodide } = await import(pathToFileURL(`${job.runtime}/pyodide.mjs`).href);
const python = await loadPyodide({ indexURL: `${job.runtime}/` });
for (const [host, inside] of job.mounts) {
  python.mountNodeFS(inside, host);
}
try {
  console.log(`RESULT ${python.runPython(job.script)}`);
} catch (error) {
  // Node would print the whole one-line runtime above an uncaught error.
  console.error(error.message);
  process.exitCode = 1;
}
