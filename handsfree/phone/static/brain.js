// The worker in which Python runs: a message in, what Python answers out, after it is stored.

import { loadPyodide } from "./pyodide/pyodide.mjs";
import { tryFiles } from "./needs.js";
import { forgetStart, keepStart, keptStart } from "./warm-start.js";
import { freeReserve, holdReserve, listVisits, removeVisit, VisitFolder } from "./store.js";

const SITE = "/lib/python3.14/site-packages";
let python;
let Companion;
let aboutJob;
let folder = null; // the open visit
let companion = null;

let app;

async function start() {
  await tryFiles().catch((fault) => { throw new Error(`no files: ${fault.message}`); });
  app = await (await fetch("app.json")).json();
  const files = [...app.wheels, "python/handsfree.zip"];
  const loads = files.map(async (file) => (await fetch(file)).arrayBuffer());
  const kept = await keptStart(app);
  const memory = await loadPython(kept);
  if (memory === null) loads.push(kept.code);
  for (const load of loads) python.unpackArchive(await load, "zip", { extractDir: SITE });
  python.runPython("import handsfree.phone.quick_start");
  Companion = python.runPython("from handsfree.phone.companion import Companion; Companion");
  aboutJob = python.runPython("from handsfree.phone.carried_job import about_text; about_text");
  return async () => memory !== null && keepStart(app, python, memory, SITE);
}

/** Starts Python, from its kept memory if it can; otherwise returns the memory to keep. */
async function loadPython(kept) {
  const indexURL = new URL("pyodide/", import.meta.url).href;
  if (kept !== null) {
    try {
      python = await loadPyodide({ indexURL, _loadSnapshot: kept.memory });
      return null;
    } catch {
      await forgetStart(app);
    }
  }
  python = await loadPyodide({ indexURL, _makeSnapshot: true });
  return python.makeMemorySnapshot();
}

/** Opens a visit; ``pieces`` is the language of the pieces that the page speaks from, if it does. */
async function open(name, pieces) {
  leave();
  const opened = new VisitFolder(python.FS, name, app.first_head);
  await opened.open();
  folder = opened;
  companion = Companion(folder.path);
  if (pieces === undefined) return;
  const { phrases } = await (await fetch(`prompts-${pieces}.json`)).json();
  companion.speak_from(JSON.stringify(phrases), pieces);
}

function leave() {
  companion?.close();
  companion?.destroy();
  folder?.close();
  folder = companion = null;
}

/** Stores what Python wrote; true if that took the reserve. Throws when the device refuses it. */
async function keep() {
  try {
    await folder.keep();
    return false;
  } catch (fault) {
    if (!await freeReserve()) throw fault;
    await folder.keep();
    return true;
  }
}

/** Runs a call of Python and stores what it wrote, before anyone sees the answer. */
async function turn(call) {
  if (companion === null) return { error: "no visit is open" };
  await folder.takeLogs();
  const answer = JSON.parse(call());
  try {
    return await keep() ? { ...answer, full: true } : answer;
  } catch (fault) {
    leave(); // nothing more may be said that is not kept
    return { unkept: String(fault.message ?? fault) };
  }
}

const ACTS = {
  list: () => listVisits(),
  remove: ({ name }) => removeVisit(name),
  reserve: () => holdReserve(),
  job: ({ text }) => JSON.parse(aboutJob(text)),
  begin: async ({ name, job, procedure, model, aloud, guide, zone, pieces }) => {
    await open(name, pieces);
    const answer = JSON.parse(companion.begin(job, procedure, model, aloud, guide, zone));
    if (answer.error !== undefined) { // nothing of it stays
      leave();
      await removeVisit(name);
      return answer;
    }
    return turn(() => JSON.stringify(answer));
  },
  resume: async ({ name, model, aloud, pieces }) => {
    await open(name, pieces);
    return turn(() => companion.resume(model, aloud));
  },
  type: ({ line }) => turn(() => companion.take_line(line)),
  hear: ({ found, again, startS, count, flac, rms, snrDb }) =>
    turn(() => companion.hear(found, again, startS, count, flac, rms, snrDb)),
  quiet: ({ seconds }) => turn(() => companion.quiet(seconds)),
  microphone: ({ back, detail }) => turn(() => companion.microphone(back, detail)),
  timed: ({ run, flac }) => turn(() => companion.timed(run, flac)),
  marks: ({ found, lengthS, startS }) => JSON.parse(companion.marks(found, lengthS, startS)),
  piece: ({ run }) => JSON.parse(companion.piece_wanted(run)),
  photo: ({ content, source, called }) => turn(() => companion.photo(content, source, called)),
  pack: () => {
    const packed = companion.packed();
    const bytes = packed.toJs();
    packed.destroy();
    return { name: folder.name, bytes };
  },
  summary: () => companion.summary(),
  leave: () => leave(),
};

const started = start();
started.then(
  (keep) => {
    postMessage({ started: true });
    keep().catch(() => null); // no room: the next start is as slow
  },
  (fault) => postMessage({ failed: String(fault.message ?? fault) }),
);

let before = Promise.resolve();
onmessage = ({ data }) => {
  before = before.then(async () => {
    try {
      if (!["list", "remove", "reserve"].includes(data.act)) await started;
      postMessage({ id: data.id, answer: await ACTS[data.act](data) });
    } catch (fault) {
      const lines = String(fault.message ?? fault).trimEnd().split("\n");
      postMessage({ id: data.id, fault: lines.at(-1) });
    }
  });
};
