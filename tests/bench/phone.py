"""Measures the phone app: size, start, reply, equal texts. ``python -m tests.bench.phone PARTS``.

It runs in headless Chromium at a phone's viewport on this machine, with the processor slowed by
``--slow`` times. The texts are compared with those of the desktop's recognizer on the same
utterances of the recorded visit.
"""

from __future__ import annotations

import argparse
import base64
import os
import signal
import statistics
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import soundfile

from handsfree.data import data_folder
from handsfree.language.interpreter import Language
from handsfree.phone.build import build
from handsfree.recognition.close_calls import COMPARED, alternatives_of, reject_close_call
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import Segmenter
from handsfree.synthesis.voice import VoiceWorker
from tests.phone.app import served
from tests.phone.phone_browser import begin, opened, phone, until
from tests.script import typed_lines

PAUSE_S = 0.35
"""Silence that ends an utterance, as in static/segmenter.js (s)."""
SLICE_S = 0.04
_MAY_SOUND = "--autoplay-policy=no-user-gesture-required"
_KEPT_MS = 20_000
_HEAR = """async (clips) => {
  const { Recognizer } = await import("./recognizer.js");
  const begun = performance.now();
  const recognizer = new Recognizer("en");
  await recognizer.ready;
  const loaded = performance.now() - begun;
  const heard = [];
  for (const clip of clips) {
    const bytes = Uint8Array.from(atob(clip), (letter) => letter.charCodeAt(0));
    const start = performance.now();
    const found = await recognizer.recognize(new Int16Array(bytes.buffer));
    heard.push({ found, seconds: (performance.now() - start) / 1000 });
  }
  return { loaded: loaded / 1000, heard };
}"""


_FIRST_SOUND = """
const { start } = AudioBufferSourceNode.prototype;
let sounding = 0;
let ended = 0;
globalThis.quiet = () => sounding === 0 && performance.now() - ended > 500;
AudioBufferSourceNode.prototype.start = function (...when) {
  globalThis.sounded?.();
  sounding += 1;
  this.addEventListener("ended", () => { sounding -= 1; ended = performance.now(); });
  return start.call(this, ...when);
};
"""
_TYPED = """async (line) => {
  const sounded = new Promise((resolve) => { globalThis.sounded = resolve; });
  const turn = new Promise((resolve) => {
    const seen = new MutationObserver(() => { seen.disconnect(); resolve(); });
    seen.observe(document.body, { attributeFilter: ["data-turn"] });
  });
  const begun = performance.now();
  document.getElementById("line").value = line;
  document.getElementById("typing").requestSubmit();
  await turn;
  const stored = performance.now();
  const none = new Promise((resolve) => { setTimeout(resolve, 10_000); });
  await Promise.race([sounded, none]);
  return { stored: (stored - begun) / 1000, sound: (performance.now() - begun) / 1000 };
}"""
_BEGIN = """async () => {
  const sounded = new Promise((resolve) => { globalThis.sounded = resolve; });
  document.getElementById("begin").click();
  await sounded;
}"""


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("parts", type=Path)
    arguments.add_argument("--slow", type=int, default=4)
    arguments.add_argument("--app", type=Path, help="an app that was built with English ears")
    arguments.add_argument("--clips", type=int, default=60)
    chosen = arguments.parse_args()
    load = os.getloadavg()[0]
    print(f"load of this machine {load:.1f} on {os.cpu_count()} cores, slowed {chosen.slow} times")
    with tempfile.TemporaryDirectory() as folder:
        app = chosen.app or Path(folder) / "app"
        if chosen.app is None:
            build(app, chosen.parts, ("en",), voice_of=_voice)
        sizes = [file.stat().st_size for file in app.rglob("*") if file.is_file()]
        print(f"app: {len(sizes)} files, {sum(sizes) / 1e6:.1f} MB")
        with served(app) as address, phone(_MAY_SOUND) as context:
            context.add_init_script(_FIRST_SOUND)
            _starts(context, address)
            page = opened(context, address)
            with slowed(chosen.slow):
                turns = _replies(page)
            _memory("a visit that speaks")
            page.close()
            page = opened(context, address)  # with one recognizer, like a visit
            with slowed(chosen.slow):
                recognized = _texts(page, chosen.clips)
            _memory("recognition")
    whole = sorted(PAUSE_S + one + other for one in turns for other in recognized)
    print(f"end of speech to first sound: median {statistics.median(whole):.2f} s, {p95(whole)}")


def _voice(language: Language) -> VoiceWorker:
    return VoiceWorker(languages=language.wording.voices)


def p95(values: list[float]) -> str:
    return f"95 % within {sorted(values)[int(0.95 * (len(values) - 1))]:.2f} s"


def renderers() -> dict[int, Path]:
    """Returns the process ids of the pages that this program has started."""
    parents = {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            stat = (entry / "stat").read_text()
            command = (entry / "cmdline").read_bytes()
        except OSError:
            continue  # it has ended
        parents[int(entry.name)] = (int(stat.rpartition(")")[2].split()[1]), command, entry)

    def ours(pid: int) -> bool:
        while pid in parents:
            pid = parents[pid][0]
            if pid == os.getpid():
                return True
        return False

    return {
        pid: entry
        for pid, (_, command, entry) in parents.items()
        if b"--type=renderer" in command and ours(pid)
    }


@contextmanager
def slowed(times: int) -> Iterator[None]:
    """Stops the pages' processes for all but one ``times``-th of each 40 ms."""
    if times == 1:
        yield
        return
    pages, over = renderers(), threading.Event()

    def send(what: signal.Signals) -> None:
        for pid in pages:
            with suppress(ProcessLookupError):  # a spare process of the browser has ended
                os.kill(pid, what)

    def beat() -> None:
        while not over.is_set():
            send(signal.SIGSTOP)
            time.sleep(SLICE_S * (times - 1) / times)
            send(signal.SIGCONT)
            time.sleep(SLICE_S / times)

    thread = threading.Thread(target=beat)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
        send(signal.SIGCONT)


def _memory(what: str) -> None:
    """Prints the largest memory of a page's process so far (VmHWM), including its workers."""
    most = 0
    for entry in renderers().values():
        lines = (entry / "status").read_text().splitlines()
        most = max(most, *(int(line.split()[1]) for line in lines if line.startswith("VmHWM")))
    print(f"memory of the page with its workers, {what}: at most {most / 1000:.0f} MB")


def _starts(context: object, address: str) -> None:
    for name in ("first", "second"):
        begun = time.monotonic()
        page = opened(context, address)
        ready = time.monotonic()
        page.evaluate(_BEGIN)
        spoken = time.monotonic()
        print(f"{name} start: ready {ready - begun:.1f} s, first word {spoken - begun:.1f} s")
        page.wait_for_timeout(_KEPT_MS)  # its memory is being kept for the next start
        page.close()


def _replies(page: object) -> list[float]:
    begin(page)
    taken = []
    for line in typed_lines()[:40]:
        until(page, "quiet()")
        taken.append(page.evaluate(_TYPED, line))
    for name, key in (("stored answer", "stored"), ("first sound", "sound")):
        values = [each[key] for each in taken]
        print(f"typed line to {name}: median {statistics.median(values):.2f} s, {p95(values)}")
    return [each["sound"] for each in taken]


def _texts(page: object, count: int) -> list[float]:
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    sound = soundfile.read(file, dtype="int16", stop=count * 3 * 16_000)[0]
    segments = list(Segmenter().feed(sound))[:count]
    parse = Language.load(language="en").parse
    recognizer = VoskRecognizer(SpeechModel.load(), None, parse)
    wanted = [recognizer.alternatives(each.samples, COMPARED) for each in segments]
    clips = [base64.b64encode(each.samples.tobytes()).decode() for each in segments]
    made = page.evaluate(_HEAR, clips)
    found = [
        alternatives_of(each["found"], len(segment.samples) / 16_000)
        for each, segment in zip(made["heard"], segments, strict=True)
    ]
    apart = []
    equal = 0
    for one, other in zip(wanted, found, strict=True):
        desktop, there = reject_close_call(one, parse).text, reject_close_call(other, parse).text
        equal += desktop == there
        if desktop != there:
            print(f"  desktop: {desktop!r}, phone: {there!r}")
        costs = {each.heard.text: each.cost for each in one}
        apart += [
            abs((each.cost - other[0].cost) - (costs[each.heard.text] - costs[other[0].heard.text]))
            for each in other
            if each.heard.text in costs and other[0].heard.text in costs
        ]
    print(
        f"equal texts: {equal} of {len(segments)}; model loaded in {made['loaded']:.1f} s; costs of"
        f" {len(apart)} readings over the likeliest apart by at most {max(apart):.3f} nats"
    )
    lasted = sum(len(each.samples) for each in segments) / 16_000
    waits = [each["seconds"] for each in made["heard"]]
    print(
        f"recognition of an utterance: median {statistics.median(waits):.2f} s, {p95(waits)},"
        f" {sum(waits) / lasted:.2f} of real time"
    )
    return waits


if __name__ == "__main__":
    main()
