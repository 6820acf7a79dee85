// Fills in what a second ear makes of a note or a reason, for a person to check. Nothing is saved by itself.
(async () => {
  "use strict";
  for (const area of document.querySelectorAll("textarea[data-ear]")) {
    try {
      const answer = await fetch(area.dataset.ear);
      const { text } = answer.ok ? await answer.json() : { text: "" };
      if (!text || area.value) continue;
      area.value = text;
      area.form.querySelector(".by-machine").hidden = false;
    } catch { /* it stays empty, to be typed by hand */ }
  }
})();

// Listening by keyboard: one reading at a time. Without this script every reading stands on the page
// with its own forms, which work as they are.
(() => {
  "use strict";
  const cards = [...document.querySelectorAll(".listening .card")];
  if (!cards.length) return;
  const left = document.querySelector(".at-nth");
  const total = parseInt(left.textContent, 10);
  const done = document.querySelector(".done"), far = document.querySelector(".far");
  let at = 0, confirmed = 0, sending = false, wrong = false;

  const soundOf = (card) => card.querySelector("audio");
  const open = () => cards.filter((card) => !card.dataset.done);

  function show(nth, play, first = false) {
    at = Math.max(0, Math.min(nth, cards.length - 1));
    for (const [n, card] of cards.entries()) {
      card.hidden = n !== at;
      if (n !== at && soundOf(card)) soundOf(card).pause();
    }
    const card = cards[at];
    card.focus({ preventScroll: first }); // what the keys do stays in sight at first
    const sound = soundOf(card), next = cards.slice(at + 1).find((each) => !each.dataset.done);
    if (sound) sound.preload = "auto";
    if (next && soundOf(next)) soundOf(next).preload = "auto";
    if (play) start(card);
  }
  function start(card) {
    const sound = soundOf(card);
    if (!sound) return;
    sound.currentTime = Number(card.dataset.from || 0);
    sound.dataset.piece = "yes";
    sound.play().catch(() => tell(card, "Its sound cannot be played here."));
  }
  function toggle(card) {
    const sound = soundOf(card);
    if (sound && !sound.paused) sound.pause();
    else if (sound && !sound.ended && sound.currentTime > 0) sound.play();
    else start(card);
  }
  function tell(card, words) {
    const place = card.querySelector(".wrong-here");
    place.textContent = words;
    place.hidden = !words;
  }
  function finish(card, kind) {
    card.dataset.done = "yes";
    confirmed += 1;
    if (kind !== "strike") {
      far.querySelector("progress").value += 1;
      far.querySelector("b").textContent = far.querySelector("progress").value;
    }
    if (kind !== "confirm" && card.dataset.sample) wrong = true;
    const rest = total - confirmed;
    left.textContent = `${rest} reading${rest === 1 ? "" : "s"}`;
    const next = cards.findIndex((each, n) => n > at && !each.dataset.done);
    const before = cards.findIndex((each) => !each.dataset.done);
    if (open().length) { show(next < 0 ? before : next, true); return; }
    if (wrong) { location.reload(); return; } // one of the sample was wrong: each of the rest is listened to
    card.hidden = true;
    document.querySelector(".steps").hidden = true;
    done.hidden = false;
    (done.querySelector("button, a") || done).focus();
  }
  async function send(form) {
    if (sending) return;
    const card = form.closest(".card");
    sending = true;
    card.classList.add("busy");
    tell(card, "");
    try {
      const answer = await fetch(form.action, {
        method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "application/json" },
      });
      if (answer.ok) {
        const { head } = await answer.json();
        for (const field of document.querySelectorAll("input[name=head]")) field.value = head;
        finish(card, form.elements.kind.value);
      } else if (answer.status === 422 || answer.status === 423) {
        const told = await answer.json();
        if (told.ask === "name") { form.submit(); return; }
        tell(card, told.problem);
      } else {
        form.submit(); // the page that comes says what is wrong, and keeps what was entered
      }
    } catch {
      tell(card, "The office does not answer. Nothing was changed; try again.");
    } finally {
      sending = false;
      card.classList.remove("busy");
    }
  }
  function enter(card, part, typed) {
    const details = card.querySelector(`details.${part}`);
    details.open = true;
    const field = details.querySelector("input:not([type=hidden])");
    field.focus();
    if (typed) field.value = typed;
  }
  function unfold(card) {
    for (const details of card.querySelectorAll("details")) details.open = false;
    card.focus();
  }

  for (const card of cards) {
    const sound = soundOf(card), to = Number(card.dataset.to || Infinity);
    if (!sound) continue;
    sound.addEventListener("timeupdate", () => {
      if (sound.dataset.piece && sound.currentTime >= to) { sound.pause(); delete sound.dataset.piece; }
    });
  }

  document.addEventListener("submit", (event) => {
    if (!event.target.closest(".card")) return;
    event.preventDefault();
    send(event.target);
  });
  document.addEventListener("click", (event) => {
    const step = event.target.closest("[data-go]");
    if (step) show(at + Number(step.dataset.go), true);
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !done.hidden) return;
    const card = cards[at], here = document.activeElement;
    if (event.key === "Escape") { unfold(card); return; }
    if (here.matches("input, textarea, select")) return;
    const acts = here.matches("button, a, summary, audio");
    const of = {
      " ": () => !acts && toggle(card), Enter: () => !acts && !card.dataset.done && card.querySelector("form.confirm").requestSubmit(),
      ArrowRight: () => show(at + 1, true), ArrowDown: () => show(at + 1, true),
      ArrowLeft: () => show(at - 1, true), ArrowUp: () => show(at - 1, true),
      s: () => enter(card, "strike"), S: () => enter(card, "strike"),
    };
    if (here.matches("audio") && event.key.startsWith("Arrow")) return;
    if (/^[0-9.,-]$/.test(event.key)) { event.preventDefault(); enter(card, "amend", event.key); return; }
    if (!(event.key in of) || (acts && (event.key === " " || event.key === "Enter"))) return;
    event.preventDefault();
    of[event.key]();
  });

  for (const keys of document.querySelectorAll(".keys")) keys.hidden = false;
  document.querySelector(".steps").hidden = false;
  show(0, false, true);
})();
