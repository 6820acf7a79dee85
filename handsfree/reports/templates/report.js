// Plays the clips of the page, and shows fewer lines of it. Nothing is fetched.
(() => {
  "use strict";
  const sounds = JSON.parse(document.getElementById("sounds").textContent);
  const player = document.querySelector(".player");
  const audio = player.querySelector("audio");
  const now = player.querySelector(".now");
  const playOn = player.querySelector("[data-do=on]");
  let current = null;

  const shown = () => [...document.querySelectorAll("button.play")].filter(
    (b) => b.offsetParent !== null && !b.closest("details:not([open])"));
  const mark = (on) => { if (current) current.classList.toggle("on", on); };

  function play(button) {
    if (!button) return;
    if (button === current && !audio.ended) { audio.paused ? audio.play() : audio.pause(); return; }
    mark(false);
    current = button;
    const address = Object.hasOwn(sounds, button.dataset.clip) ? sounds[button.dataset.clip] : null;
    if (!address) { now.textContent = "Its sound is not in this page."; return; }
    if (audio.getAttribute("src") !== address) audio.src = address;
    audio.currentTime = 0;
    player.hidden = false;
    now.textContent = button.getAttribute("aria-label").replace(/^Play /, "");
    audio.play().catch(() => { now.textContent = "This browser cannot play it."; });
  }
  function step(by) {
    const all = shown();
    const next = all[all.indexOf(current) + by];
    if (!next) return;
    next.scrollIntoView({ block: "center" });
    play(next);
  }
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.matches(".play")) play(button);
    else if (button.dataset.do === "next") step(1);
    else if (button.dataset.do === "back") step(-1);
    else if (button.dataset.do === "close") { audio.pause(); player.hidden = true; if (current) current.focus(); }
    else if (button.dataset.show) {
      document.body.classList.remove("heard", "missed");
      if (button.dataset.show !== "all") document.body.classList.add(button.dataset.show);
      for (const each of button.parentElement.children) each.setAttribute("aria-pressed", String(each === button));
    }
  });
  // A link into a part that is folded opens it, and paper shows every part.
  function reveal() {
    const at = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const part = at && at.closest("details:not([open])");
    if (part) { part.open = true; at.scrollIntoView(); }
  }
  let folded = [];
  addEventListener("hashchange", reveal);
  addEventListener("beforeprint", () => {
    folded = [...document.querySelectorAll("details:not([open])")];
    for (const each of folded) each.open = true;
  });
  addEventListener("afterprint", () => { for (const each of folded) each.open = false; folded = []; });
  reveal();
  audio.addEventListener("play", () => mark(true));
  audio.addEventListener("pause", () => mark(false));
  audio.addEventListener("ended", () => { mark(false); if (playOn.checked) step(1); });
  audio.addEventListener("error", () => { now.textContent = "This browser cannot play it."; });
  for (const tools of document.querySelectorAll(".tools")) tools.hidden = false;
})();
