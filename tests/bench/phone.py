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
from tests.phone.app import served
from tests.phone.phone_browser import begin, opened, phone, say
from tests.script import typed_lines

PAUSE_S = 0.35
"""Silence that ends an utterance, as in static/segmenter.js (s)."""
SLICE_S = 0.04
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


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("parts", type=Path)
    arguments.add_argument("--slow", type=int, default=4)
    arguments.add_argument("--clips", type=int, default=60)
    chosen = arguments.parse_args()
    load = os.getloadavg()[0]
    print(f"load of this machine {load:.1f} on {os.cpu_count()} cores, slowed {chosen.slow} times")
    with tempfile.TemporaryDirectory() as folder:
        app = build(Path(folder) / "app", chosen.parts, ("en",))
        print(f"app: {app.files} files, {app.bytes / 1e6:.1f} MB")
        with served(Path(folder) / "app") as address, phone() as context:
            _starts(context, address)
            page = opened(context, address)
            with slowed(chosen.slow):
                turns = _replies(page)
                recognized = _texts(page, chosen.clips)
            _memory()
    whole = sorted(PAUSE_S + one + other for one in turns for other in recognized)
    print(f"end of speech to the reply: median {statistics.median(whole):.2f} s, {p95(whole)}")


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


def _memory() -> None:
    """Returns the largest memory of a page's process so far (VmHWM), including its workers."""
    most = 0
    for entry in renderers().values():
        lines = (entry / "status").read_text().splitlines()
        most = max(most, *(int(line.split()[1]) for line in lines if line.startswith("VmHWM")))
    print(f"memory of the page with its workers: at most {most / 1000:.0f} MB")


def _starts(context: object, address: str) -> None:
    for name in ("first", "second"):
        begun = time.monotonic()
        opened(context, address).close()
        print(f"{name} start to ready: {time.monotonic() - begun:.1f} s")


def _replies(page: object) -> list[float]:
    begin(page)
    taken = []
    for line in typed_lines()[:40]:
        begun = time.monotonic()
        say(page, line)
        taken.append(time.monotonic() - begun)
    print(f"typed line to stored answer: median {statistics.median(taken):.2f} s, {p95(taken)}")
    return taken


def _texts(page: object, count: int) -> list[float]:
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    sound = soundfile.read(file, dtype="int16", stop=count * 2 * 16_000)[0]
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
