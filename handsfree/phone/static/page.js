// The screen: what Python answered, and buttons and typing that are sent to it.

import { Ears } from "./ears.js";
import { Mouth } from "./mouth.js";

const at = (id) => document.getElementById(id);
const words = await (await fetch("words.json")).json();
const start = await (await fetch("start.json")).json();
const app = await (await fetch("app.json")).json();
const BIG = ["yes", "no", "again", "done", "help", "stop"];
const LITTLE_MB = 100;

let language = navigator.language.startsWith("es") ? "es" : "en";
let job = start.job;
let pythonStarted = false;
let inVisit = false;
let wake = null;

// --- Python in its worker

const brain = new Worker("brain.js", { type: "module" });
const waiting = new Map();
let number = 0;

function ask(act, values = {}) {
  number += 1;
  brain.postMessage({ id: number, act, ...values });
  return new Promise((resolve, reject) => waiting.set(number, { resolve, reject }));
}

brain.onmessage = ({ data }) => {
  if (data.started) {
    pythonStarted = true;
    tellState();
  } else if (data.failed !== undefined) {
    trouble("trouble", data.failed);
  } else {
    const { resolve, reject } = waiting.get(data.id);
    waiting.delete(data.id);
    if (data.fault === undefined) resolve(data.answer);
    else reject(new Error(data.fault));
  }
};
brain.onerror = (event) => trouble("trouble", event.message);

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
  at("line").placeholder = word("type");
  at("line").setAttribute("aria-label", word("type"));
  for (const each of document.querySelectorAll("#list [data-closed]")) {
    each.textContent = word(each.dataset.closed);
  }
}

function trouble(id, text) {
  at(id).hidden = text === "";
  at(id).textContent = text;
}

function element(tag, text, made = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...made });
}

function plain(error) {
  return error.message === "open in another tab" ? word("other_tab") : error.message;
}

// --- the first page

function tellState() {
  const kept = navigator.serviceWorker?.controller != null;
  at("state").textContent = word(pythonStarted ? (kept ? "ready" : "loading") : "starting");
  at("begin").disabled = !pythonStarted;
  for (const each of document.querySelectorAll("#list .go")) each.disabled = !pythonStarted;
}

function lacking() {
  const needed = {
    "a secure address (https)": isSecureContext,
    "service workers": "serviceWorker" in navigator,
    "private files": navigator.storage?.getDirectory !== undefined,
    "web locks": "locks" in navigator,
    WebAssembly: "WebAssembly" in globalThis,
  };
  return Object.keys(needed).filter((name) => !needed[name]);
}

function listProcedures() {
  const chosen = at("procedure").value;
  const options = start.procedures[language] ?? start.procedures.en;
  at("procedure").replaceChildren(
    ...options.map(({ name, title }) => element("option", title, { value: name })),
  );
  const wanted = options.some(({ name }) => name === chosen) ? chosen : "controller-replaced-pair";
  at("procedure").value = wanted;
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

at("job").onchange = async () => {
  const [file] = at("job").files;
  job = file === undefined ? start.job : await file.text();
  language = /^\s*language\s*=\s*"es"/m.test(job) ? "es" : "en";
  showWords();
  listProcedures();
  tellState();
};

at("new").onsubmit = (event) => {
  event.preventDefault();
  const reference = /^\s*reference\s*=\s*"([^"]*)"/m.exec(job)?.[1] ?? "visit";
  const short = reference.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 60);
  const now = new Date().toISOString().replace(/[-:]/g, "").replace("T", "-").slice(0, 15);
  const spoken = /^\s*language\s*=\s*"es"/m.test(job) ? "es" : "en";
  const withLanguage = at("job").files.length === 0 && language === "es"
    ? job.replace("[job]", '[job]\nlanguage = "es"') : job;
  const chosen = { name: `${short || "visit"}-${now}`, job: withLanguage, procedure: at("procedure").value };
  enter("begin", chosen, at("job").files.length === 0 ? language : spoken);
};

async function tellSpace() {
  await navigator.storage.persist?.();
  const { quota = 0, usage = 0 } = await navigator.storage.estimate();
  const mb = Math.floor((quota - usage) / 1e6);
  if (mb < LITTLE_MB) trouble("trouble", word("little_space", { mb }));
}

// --- the visit

async function enter(act, values, spoken) {
  trouble("trouble", "");
  language = spoken ?? "en";
  try {
    const model = app.models[language] ?? "";
    await mouth.use(language);
    const answer = await ask(act, { ...values, model, aloud: mouth.on });
    if (answer.error !== undefined) {
      trouble("trouble", answer.error);
      return;
    }
    inVisit = true;
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
  mouth.stop();
  try {
    show(await ask(act, values));
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
  document.body.dataset.turn = Number(document.body.dataset.turn ?? 0) + 1;
  mouth.take(answer.out);
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
      element("td", row.verdict ?? "", { className: row.verdict === null ? "" : kind }),
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

// --- sound

const mouth = new Mouth();
const ears = new Ears({
  heard: (utterance) => say("hear", utterance),
  quiet: (seconds) => say("quiet", { seconds }),
  level: (db) => { at("level").value = db; },
  lost: (detail) => {
    at("listen").setAttribute("aria-pressed", "false");
    say("microphone", { back: false, detail });
  },
  speaking: () => mouth.speaking,
  interrupts: () => {
    const headset = at("headset").getAttribute("aria-pressed") === "true";
    if (headset) mouth.stop();
    return headset;
  },
});

function note(text) {
  at("note").hidden = text === "";
  at("note").textContent = text;
}

function tellSound() {
  at("listen").hidden = !(language in app.models);
  at("level").hidden = at("listen").hidden;
  at("speak").hidden = !mouth.has;
  at("headset").hidden = !mouth.has;
  at("speak").setAttribute("aria-pressed", String(mouth.on));
  note([at("listen").hidden ? word("no_ears") : "", mouth.has ? "" : word("no_voice")]
    .filter((text) => text !== "").join(" "));
}

at("listen").onclick = async () => {
  if (ears.on) {
    await ears.stop();
  } else {
    note(word("loading_ears"));
    try {
      await ears.start(language);
      note(word("screen_on"));
    } catch (error) {
      note(error.name === "NotAllowedError" ? word("microphone_refused") : error.message);
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

showWords();
listProcedures();
tellState();
const missing = lacking();
if (missing.length > 0) {
  trouble("trouble", word("missing", { what: missing.join(", ") }));
} else {
  navigator.serviceWorker.register("sw.js").catch((error) => trouble("trouble", error.message));
  navigator.serviceWorker.addEventListener("controllerchange", tellState);
  await listVisits();
  await tellSpace();
}
document.body.dataset.ready = "page";
