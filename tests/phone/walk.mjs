// node walk.mjs APP JOB PROCEDURE SAYINGS.json: walks a visit under Pyodide, prints what it kept.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [app, job, procedure, sayings] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(path.join(app, "pyodide", "pyodide.mjs")).href);
const python = await loadPyodide({ indexURL: path.join(app, "pyodide") + path.sep });
const list = JSON.parse(fs.readFileSync(path.join(app, "app.json"), "utf8"));
for (const file of [...list.wheels, "python/handsfree.zip"]) {
  const content = new Uint8Array(fs.readFileSync(path.join(app, file)));
  python.unpackArchive(content, "zip", { extractDir: "/lib/python3.14/site-packages" });
}
try {
  const Companion = python.runPython("from handsfree.phone.companion import Companion; Companion");
  const companion = Companion("/visits/walk");
  const answers = [JSON.parse(companion.begin(fs.readFileSync(job, "utf8"), procedure))];
  for (const line of JSON.parse(fs.readFileSync(sayings, "utf8"))) {
    answers.push(JSON.parse(companion.take_line(line)));
  }
  const journal = python.FS.readFile("/visits/walk/journal.jsonl", { encoding: "utf8" });
  const head = python.FS.readFile("/visits/walk/journal.head", { encoding: "utf8" });
  const heavy = python.runPython(
    "import sys; [m for m in ('numpy', 'sounddevice', 'click', 'rich', 'jinja2') if m in sys.modules]",
  ).toJs();
  console.log(JSON.stringify({ journal, head, answers, heavy }));
} catch (fault) {
  console.error(String(fault.message).slice(-3000));
  process.exit(1);
}
