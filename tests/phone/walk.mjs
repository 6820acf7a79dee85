// node walk.mjs APP WALKS.json: walks visits under Pyodide, prints what each of them kept.
// A walk is [job, procedure, sayings].

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [app, walks] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(path.join(app, "pyodide", "pyodide.mjs")).href);
const python = await loadPyodide({ indexURL: path.join(app, "pyodide") + path.sep });
const list = JSON.parse(fs.readFileSync(path.join(app, "app.json"), "utf8"));
for (const file of [...list.wheels, "python/handsfree.zip"]) {
  const content = new Uint8Array(fs.readFileSync(path.join(app, file)));
  python.unpackArchive(content, "zip", { extractDir: "/lib/python3.14/site-packages" });
}
try {
  python.runPython("import handsfree.phone.quick_start");
  const Companion = python.runPython("from handsfree.phone.companion import Companion; Companion");
  const walked = JSON.parse(fs.readFileSync(walks, "utf8")).map(([job, procedure, sayings], nth) => {
    const companion = Companion(`/visits/${nth}`);
    const answers = [JSON.parse(companion.begin(job, procedure))];
    for (const line of sayings) answers.push(JSON.parse(companion.take_line(line)));
    companion.close();
    const journal = python.FS.readFile(`/visits/${nth}/journal.jsonl`, { encoding: "utf8" });
    const head = python.FS.readFile(`/visits/${nth}/journal.head`, { encoding: "utf8" });
    return { journal, head, answers };
  });
  const heavy = python.runPython(
    "import sys; [m for m in ('numpy', 'sounddevice', 'click', 'rich', 'jinja2') if m in sys.modules]",
  ).toJs();
  console.log(JSON.stringify({ walked, heavy }));
} catch (fault) {
  console.error(String(fault.message).slice(-3000));
  process.exit(1);
}
