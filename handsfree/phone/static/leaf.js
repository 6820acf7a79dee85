// Records how a leaf turns, with this phone taped to it, and hands the log over.

import { asCsv, fault, Recording } from "./leaf-recording.js";

const STILL_MS = 3000; // after the tap, until the phone rests
const at = (id) => document.getElementById(id);
const words = await (await fetch("leaf-words.json")).json();
const language = navigator.language.startsWith("es") ? "es" : "en";

function word(name, values = {}) {
  return words[language][name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

function tell(id, text) {
  at(id).textContent = text;
  if (id === "trouble") at(id).hidden = text === "";
}

function element(tag, text, made = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...made });
}

// --- recording

let recording = null;
let timer = null;
let wake = null;
let log = null;

/** Asks where the phone wants to be asked (iOS); it may only be asked while a button is tapped. */
async function allowed() {
  if (globalThis.DeviceMotionEvent === undefined) return false;
  if (DeviceMotionEvent.requestPermission === undefined) return true;
  return (await DeviceMotionEvent.requestPermission()) === "granted";
}

async function start() {
  tell("trouble", "");
  at("done").hidden = true;
  try {
    if (!(await allowed())) {
      tell("trouble", word("refused"));
      return;
    }
  } catch (error) {
    tell("trouble", error.message);
    return;
  }
  wake = await navigator.wakeLock?.request("screen").catch(() => null);
  let left = STILL_MS / 1000;
  at("go").textContent = word("cancel");
  tell("state", word("hands_off", { seconds: left }));
  timer = setInterval(() => {
    left -= 1;
    if (left > 0) {
      tell("state", word("hands_off", { seconds: left }));
      return;
    }
    clearInterval(timer);
    record();
  }, 1000);
  recording = "waiting";
}

function record() {
  recording = new Recording();
  globalThis.addEventListener("devicemotion", recording);
  at("go").textContent = word("stop");
  timer = setInterval(() => tell("state", word("recording", { seconds: recording.seconds })), 500);
  tell("state", word("recording", { seconds: 0 }));
}

async function stop() {
  clearInterval(timer);
  wake?.release();
  const made = recording;
  recording = null;
  at("go").textContent = word("start");
  tell("state", "");
  if (made === "waiting") return;
  globalThis.removeEventListener("devicemotion", made);
  const samples = made.samples();
  const wrong = fault(samples);
  if (wrong !== null) {
    tell("trouble", word(wrong.name, wrong));
    return;
  }
  const now = new Date().toISOString().replace(/[-:]/g, "").replace("T", "-").slice(0, 15);
  log = { name: `leaf-${now}.csv`, text: asCsv(samples) };
  tell("state", word("recorded", { seconds: Math.round(samples.at(-1).time - samples[0].time) }));
  tell("told", "");
  at("done").hidden = false;
  await offer();
}

at("go").onclick = () => (recording === null ? start() : stop());

document.addEventListener("visibilitychange", () => {
  if (recording instanceof Recording && document.visibilityState === "hidden") recording.hidden();
});

// --- handing over

const keeper = new Worker("leaf-keeper.js", { type: "module" });
let answered = null;
keeper.onmessage = ({ data }) => answered(data);

function keep(what) {
  return new Promise((resolve) => {
    answered = resolve;
    keeper.postMessage(what);
  });
}

async function offer() {
  const { visits } = await keep({ act: "list" });
  at("visits").replaceChildren(...visits.map((visit) => {
    const item = element("li", "");
    const when = visit.at.slice(0, 16).replace("T", " ");
    const button = element("button", `${word("into")}: ${visit.reference}, ${when}`);
    button.dataset.visit = visit.name;
    button.onclick = async () => {
      const { fault: failed } = await keep({ act: "put", visit: visit.name, ...log });
      tell("told", failed === undefined ? word("put") : failed);
    };
    item.append(button);
    return item;
  }));
  const taken = await fetch("leaf-logs").catch(() => null);
  at("send").hidden = taken?.status !== 204;
}

at("send").onclick = async () => {
  const headers = { "Content-Type": "text/csv" };
  const answer = await fetch("leaf-logs", { method: "POST", body: log.text, headers })
    .catch(() => null);
  tell("told", answer?.ok ? word("sent") : word("not_sent"));
};

at("save").onclick = async () => {
  const file = new File([log.text], log.name, { type: "text/csv" });
  if (navigator.canShare?.({ files: [file] })) {
    try {
      await navigator.share({ files: [file] });
      return;
    } catch (error) {
      if (error.name === "AbortError") return;
    }
  }
  const link = element("a", "", { href: URL.createObjectURL(file), download: file.name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
};

document.documentElement.lang = language;
for (const each of document.querySelectorAll("[data-word]")) {
  each.textContent = word(each.dataset.word);
}
document.body.dataset.ready = "page";
