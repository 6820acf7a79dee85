// The screen: what Python answered, and buttons and typing that are sent to it.

import { Ears } from "./ears.js";
import { Jobs, zoneHere } from "./jobs.js";
import { Mouth } from "./mouth.js";
import { lacking, lackingEars } from "./needs.js";
import { hasOffice, sendPack, takeToken } from "./office.js";
import { drawn } from "./photo.js";
import { noRun, Stopwatch } from "./stopwatch.js";
import { RESERVE_MB } from "./store.js";

const at = (id) => document.getElementById(id);
const words = await (await fetch("words.json")).json();
const start = await (await fetch("start.json")).json();
const app = await (await fetch("app.json")).json();
const BIG = ["yes", "no", "again", "done", "help", "stop"];
const LITTLE_MB = 100;
const SPACE_MS = 60_000; // at most so often is the space looked at
const missing = lacking();

const ownLanguage = navigator.language.startsWith("es") ? "es" : "en";
let language = ownLanguage;
let pythonStarted = false;
let inVisit = false;
let timing = false;
let wake = null;
let microphoneLost = false;

// --- Python in its worker

const brain = missing.length > 0 ? null : new Worker("brain.js", { type: "module" });
const waiting = new Map();
let number = 0;

function ask(act, values = {}) {
  number += 1;
  brain.postMessage({ id: number, act, ...values });
  return new Promise((resolve, reject) => waiting.set(number, { resolve, reject }));
}

function answered({ data }) {
  if (data.started) {
    pythonStarted = true;
    tellState();
  } else if (data.failed !== undefined) {
    const why = /^no files: (.*)/.exec(data.failed)?.[1];
    trouble("trouble", why === undefined ? data.failed : word("no_files", { why }));
  } else {
    const { resolve, reject } = waiting.get(data.id);
    waiting.delete(data.id);
    if (data.fault === undefined) resolve(data.answer);
    else reject(new Error(data.fault));
  }
}

if (brain !== null) {
  brain.onmessage = answered;
  brain.onerror = (event) => trouble("trouble", event.message);
}

// --- words, troubles

function word(name, values = {}) {
  return words[language][name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

function showWords() {
  document.documentElement.lang = language;
  for (const each of document.querySelectorAll("[data-word]")) {
    each.textContent = word(each.dataset.word);
  }
  for (const name of BIG) at(name).textContent = words[language].say[name];
  at("line").placeholder = word("or_type");
  at("line").setAttribute("aria-label", word("type"));
  for (const each of document.querySelectorAll("#list [data-closed]")) {
    each.textContent = word(each.dataset.closed);
  }
}

function named(needs) {
  return needs.map((each) => words[language].needs[each]).join(", ");
}

function trouble(id, text) {
  at(id).hidden = text === "";
  at(id).textContent = text;
}

function element(tag, text, made = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...made });
}

function plain(error) {
  if (error.message === "open in another tab") return word("other_tab");
  return error.message in words.en ? word(error.message) : error.message;
}

// --- the first page

function tellState() {
  const kept = navigator.serviceWorker?.controller != null;
  at("state").textContent = word(pythonStarted ? (kept ? "ready" : "loading") : "starting");
  for (const id of ["begin", "daily"]) at(id).disabled = !pythonStarted;
  for (const each of document.querySelectorAll("#list .go")) each.disabled = !pythonStarted;
}

function showJob() {
  language = jobs.invented ? ownLanguage : jobs.chosen.language;
  showWords();
  jobs.show(language, word);
  trouble("trouble", jobs.fault);
  tellState();
}

async function listVisits() {
  const visits = await ask("list");
  at("list").replaceChildren(...visits.map((visit) => {
    const item = element("li", "");
    const about = visit.unreadable ? visit.name : `${visit.reference}, ${visit.site}`;
    const state = visit.unreadable ? "unreadable" : visit.closed ? "closed" : "open";
    const line = element("p", `${about} · ${(visit.at ?? "").slice(0, 16).replace("T", " ")} · `);
    const told = element("span", word(state));
    told.dataset.closed = state;
    line.append(told);
    const remove = element("button", word("remove"));
    remove.dataset.word = "remove";
    remove.onclick = () => sure(remove, () => ask("remove", { name: visit.name }).then(listVisits));
    item.append(line);
    if (!visit.unreadable) {
      const go = element("button", word("go_on"), { className: "go", disabled: !pythonStarted });
      go.dataset.word = "go_on";
      go.dataset.visit = visit.name;
      go.onclick = () => enter("resume", { name: visit.name }, visit.language);
      item.append(go);
    }
    item.append(remove);
    return item;
  }));
  if (visits.length === 0) {
    const none = element("li", word("none"));
    none.dataset.word = "none";
    at("list").append(none);
  }
}

function sure(button, act) {
  if (button.dataset.asked === "yes") {
    act().catch((error) => trouble("trouble", plain(error)));
    return;
  }
  button.dataset.asked = "yes";
  button.textContent = word("remove_sure");
}

function beginWith(procedure, guide) {
  const now = new Date();
  const chosen = { name: jobs.name(now), job: jobs.text(language), zone: zoneHere(now), procedure, guide };
  enter("begin", chosen, jobs.invented ? language : jobs.chosen.language);
}

at("new").onsubmit = (event) => {
  event.preventDefault();
  beginWith(at("procedure").value, at("guide").value);
};
at("daily").onclick = () => beginWith("daily-check", "");

let lookedAt = -Infinity;

/** Says when little space is left, before it runs out; on the page that is shown. */
async function tellSpace() {
  if (performance.now() - lookedAt < SPACE_MS) return;
  lookedAt = performance.now();
  const { quota = 0, usage = 0 } = await navigator.storage.estimate();
  const held = await ask("reserve"); // some browsers estimate the same for every phone
  const mb = held ? Math.max(1, Math.ceil((quota - usage) / 1e6)) : RESERVE_MB;
  const told = mb <= LITTLE_MB ? word("little_space", { mb }) : "";
  trouble("space", told);
  if (!inVisit && told !== "") trouble("trouble", told);
}

async function tellKept() {
  const stays = await navigator.storage.persist?.();
  at("may_go").textContent = word(stays ? "stays" : "may_go");
  at("may_go").dataset.word = stays ? "stays" : "may_go";
}

// --- the visit

async function enter(act, values, spoken) {
  trouble("trouble", "");
  mouth.open(); // this is a tap
  language = spoken ?? "en";
  try {
    const model = app.models[language] ?? "";
    if (model !== "" && lackingEars().length === 0) ears.prepare(language);
    await mouth.use(language, app.prompts.includes(language));
    const pieces = mouth.kind === "prompts" ? language : undefined;
    const answer = await ask(act, { ...values, model, aloud: mouth.on, pieces });
    if (answer.error !== undefined) {
      trouble("trouble", answer.error);
      return;
    }
    inVisit = true;
    lookedAt = -Infinity;
    at("send").hidden = !hasOffice();
    at("start").hidden = true;
    at("visit").hidden = false;
    at("said").replaceChildren();
    showWords();
    tellSound();
    show(answer);
    keepAwake();
  } catch (error) {
    trouble("trouble", plain(error));
  }
}

async function leave() {
  inVisit = false;
  await ears.stop();
  mouth.stop();
  wake?.release();
  await ask("leave");
  at("visit").hidden = true;
  at("start").hidden = false;
  showWords();
  tellState();
  await listVisits();
}

async function say(act, values) {
  if (!inVisit) return;
  mouth.interrupt();
  try {
    show(await ask(act, values));
  } catch (error) {
    trouble("fault", plain(error));
  }
}

/** Hands an utterance to Python; ``again`` hears it once more as often as Python asks for it. */
async function hear(utterance, again) {
  if (!inVisit) return;
  mouth.interrupt();
  try {
    const heard = {};
    let answer = await ask("hear", { ...utterance, again: "{}" });
    while (answer.again !== undefined) {
      heard[answer.again.graph] = await again(answer.again);
      answer = await ask("hear", { ...utterance, again: JSON.stringify(heard) });
    }
    show(answer);
  } catch (error) {
    trouble("fault", plain(error));
  }
}

function show(answer) {
  if (answer.unkept !== undefined) {
    trouble("fault", word("unkept", { why: answer.unkept }));
    return;
  }
  if (answer.error !== undefined) {
    trouble("fault", answer.error);
    return;
  }
  trouble("fault", answer.fault);
  if (answer.full) trouble("space", word("full", { mb: RESERVE_MB }));
  at("step").textContent = answer.step;
  const texts = answer.out.filter((each) => each.say !== undefined).map((each) => each.say);
  if (texts.length > 0 || at("said").childElementCount === 0) {
    const shown = texts.length > 0 ? texts : [answer.waits];
    at("said").replaceChildren(...shown.map((text) => element("p", text)));
  }
  if (answer.closed) at("said").append(element("p", word("done_visit")));
  const missed = answer.understood ? "" : ` (${word("not_understood")})`;
  at("heard").textContent = answer.heard === "" ? "" : `${word("heard")}: ${answer.heard}${missed}`;
  showRows(answer.rows);
  at("choices").replaceChildren(...(answer.choices ?? []).map((text) => {
    const button = element("button", text);
    button.onclick = () => say("type", { line: text });
    return button;
  }));
  for (const each of document.querySelectorAll("#big button, #typing *")) each.disabled = answer.closed;
  at("glance").scrollTop = 0;
  if (!answer.full) tellSpace();
  document.body.dataset.turn = Number(document.body.dataset.turn ?? 0) + 1;
  if (answer.cancel) stopwatch.cancel();
  const spoken = mouth.take(answer.out);
  if (answer.clock === null || timing) return;
  ears.expectRun();
  spoken.then(() => time(answer.clock, mouth.on));
}

/** Times a run, and hands it to Python; what was typed meanwhile is answered after it. */
async function time(asked, spoke) {
  if (timing || !inVisit) return;
  timing = true;
  try {
    const { lost, ...run } = await ears.time(asked, spoke);
    timing = false;
    await say("timed", run);
    if (lost) note(word("sound_lost"));
  } catch (error) {
    timing = false;
    await say("timed", noRun(0)); // the visit goes on without it
    trouble("fault", plain(error));
  }
}

function showRows(rows) {
  at("readings").hidden = rows.length === 0;
  const shown = [];
  let subject = "";
  for (const row of rows) {
    if (row.subject !== subject) {
      subject = row.subject;
      const line = element("tr", "", { className: "leaf" });
      line.append(element("th", subject, { colSpan: 4 }));
      shown.push(line);
    }
    const line = element("tr", "");
    const kind = { pass: "pass", fail: "fail" }[row.verdict] ?? "close";
    line.append(
      element("td", row.quantity), element("td", row.values.join(" ")), element("td", row.limit),
      element("td", row.told, { className: row.verdict === null ? "" : kind }),
    );
    shown.push(line);
  }
  at("rows").replaceChildren(...shown);
}

async function savePack() {
  try {
    const { name, bytes } = await ask("pack");
    const file = new File([bytes], `${name}.visit.zip`, { type: "application/zip" });
    const link = element("a", "", { href: URL.createObjectURL(file), download: file.name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  } catch (error) {
    trouble("fault", plain(error));
  }
}

async function sendToOffice() {
  at("send").disabled = true;
  try {
    const { bytes } = await ask("pack");
    await sendPack(bytes);
    note(word("sent"));
  } catch (error) {
    trouble("fault", plain(error));
  }
  at("send").disabled = false;
}

async function takePhoto() {
  const [file] = at("photo").files;
  if (file === undefined) return;
  note(word("photo_reading"));
  try {
    const answer = await ask("photo", await drawn(file));
    show(answer);
    note(answer.error === undefined && answer.unkept === undefined ? word("photo_kept") : "");
  } catch (error) {
    note("");
    trouble("fault", plain(error));
  }
  at("photo").value = ""; // the same one can be chosen again
}

async function keepAwake() {
  try {
    wake = await navigator.wakeLock?.request("screen");
  } catch {
    wake = null; // the phone saves its battery; nothing depends on it
  }
}

document.addEventListener("visibilitychange", () => {
  if (inVisit && document.visibilityState === "visible") keepAwake();
});

for (const name of BIG) {
  at(name).onclick = () => say("type", { line: words[language].say[name] });
}
at("typing").onsubmit = (event) => {
  event.preventDefault();
  const line = at("line").value;
  at("line").value = "";
  say("type", { line });
};
at("leave").onclick = leave;
at("save").onclick = savePack;
at("send").onclick = sendToOffice;
at("photo").onchange = takePhoto;

// --- sound

const mouth = new Mouth();
const stopwatch = new Stopwatch(
  (found, lengthS, startS) => ask("marks", { found, lengthS, startS }),
  (run) => ask("piece", { run }),
);
const ears = new Ears({
  heard: hear,
  quiet: (seconds) => say("quiet", { seconds }),
  level: (db) => { at("level").value = db; },
  lost: (detail) => {
    at("listen").setAttribute("aria-pressed", "false");
    at("listen").textContent = word("listen");
    microphoneLost = true;
    note(word("microphone_gone"));
    say("microphone", { back: false, detail });
  },
  speaking: () => mouth.speaking,
  headset: () => at("headset").getAttribute("aria-pressed") === "true",
  interrupt: () => mouth.interrupt(),
}, stopwatch);

function note(text) {
  at("note").hidden = text === "";
  at("note").textContent = text;
}

function tellSound() {
  at("listen").hidden = !(language in app.models);
  at("level").hidden = at("listen").hidden;
  at("speak").hidden = !mouth.has;
  at("speak").setAttribute("aria-pressed", String(mouth.on));
  const ears_lack = lackingEars();
  if (ears_lack.length > 0) at("listen").hidden = true;
  at("headset").hidden = at("listen").hidden; // without one, tones and voice close the ears
  const why = ears_lack.length > 0 ? word("no_listening", { what: named(ears_lack) }) : word("no_ears");
  note(at("listen").hidden ? why : "");
  at("voice").textContent = word({ voice: "own_voice", prompts: "prompts" }[mouth.kind] ?? "no_voice");
}

at("listen").onclick = async () => {
  mouth.openTones();
  if (ears.on) {
    await ears.stop();
  } else {
    note(word("loading_ears"));
    try {
      await ears.start(language);
      note(word("screen_on"));
      if (microphoneLost) await say("microphone", { back: true, detail: "" });
      microphoneLost = false;
    } catch (error) {
      note(error instanceof DOMException ? word("microphone_refused") : error.message);
    }
  }
  at("listen").setAttribute("aria-pressed", String(ears.on));
  at("listen").textContent = word(ears.on ? "listening" : "listen");
};

at("headset").onclick = () => {
  const now = at("headset").getAttribute("aria-pressed") === "true";
  at("headset").setAttribute("aria-pressed", String(!now));
};

at("speak").onclick = () => {
  mouth.on = !mouth.on;
  if (!mouth.on) mouth.stop();
  at("speak").setAttribute("aria-pressed", String(mouth.on));
};

// --- begin

const jobs = new Jobs(start, at, element, ask, showJob);
showJob();
if (missing.length > 0) {
  trouble("trouble", word("missing", { what: named(missing) }));
} else {
  takeToken();
  navigator.serviceWorker.register("sw.js").catch((error) => trouble("trouble", error.message));
  navigator.serviceWorker.addEventListener("controllerchange", tellState);
  await listVisits();
  await tellSpace();
  await tellKept();
}
document.body.dataset.ready = "page";
