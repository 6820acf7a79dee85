"""The app for a phone: size, start, reply, equal texts. ``python -m tests.bench.phone PARTS``.

In headless Chromium at a phone's viewport on this machine, with the processor slowed by
``--slow`` times. The texts are compared with those of the desktop's recognizer on the same
utterances of the recorded visit.
"""

from __future__ import annotations

import argparse
import base64
import os
import statistics
import tempfile
import time
from pathlib import Path

import soundfile

from handsfree.data import data_folder
from handsfree.language.interpreter import Language
from handsfree.phone.build import build
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import Segmenter
from tests.phone.app import served
from tests.phone.phone_browser import begin, opened, phone, say
from tests.script import typed_lines

_HEAR = """async (clips) => {
  const { Recognizer } = await import("./recognizer.js");
  const { forRecognizer } = await import("./levels.js");
  const begun = performance.now();
  const recognizer = new Recognizer("en");
  await recognizer.ready;
  const loaded = performance.now() - begun;
  const heard = [];
  for (const clip of clips) {
    const bytes = Uint8Array.from(atob(clip), (letter) => letter.charCodeAt(0));
    const start = performance.now();
    const text = await recognizer.recognize(forRecognizer(new Int16Array(bytes.buffer)));
    heard.push({ text, seconds: (performance.now() - start) / 1000 });
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
            context.new_cdp_session(page).send(
                "Emulation.setCPUThrottlingRate", {"rate": chosen.slow}
            )
            _replies(page)
            _texts(page, chosen.clips)


def _starts(context: object, address: str) -> None:
    for name in ("first", "second"):
        begun = time.monotonic()
        opened(context, address).close()
        print(f"{name} start to ready: {time.monotonic() - begun:.1f} s")


def _replies(page: object) -> None:
    begin(page)
    taken = []
    for line in typed_lines()[:40]:
        begun = time.monotonic()
        say(page, line)
        taken.append(time.monotonic() - begun)
    taken.sort()
    p95 = taken[int(0.95 * (len(taken) - 1))]
    print(f"typed line to stored answer: median {statistics.median(taken):.2f} s, p95 {p95:.2f} s")


def _texts(page: object, count: int) -> None:
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    sound = soundfile.read(file, dtype="int16", stop=count * 2 * 16_000)[0]
    segments = list(Segmenter().feed(sound))[:count]
    recognizer = VoskRecognizer(SpeechModel.load(), None, Language.load(language="en").parse)
    wanted = [recognizer.recognize(each.samples).text for each in segments]
    clips = [base64.b64encode(each.samples.tobytes()).decode() for each in segments]
    made = page.evaluate(_HEAR, clips)
    equal = sum(text == each["text"] for text, each in zip(wanted, made["heard"], strict=True))
    for text, each in zip(wanted, made["heard"], strict=True):
        if text != each["text"]:
            print(f"  desktop: {text!r}, phone: {each['text']!r}")
    lasted = sum(len(each.samples) for each in segments) / 16_000
    waits = sorted(each["seconds"] for each in made["heard"])
    print(f"equal texts: {equal} of {len(segments)}; model loaded in {made['loaded']:.1f} s")
    print(
        f"recognition after the end of speech: median {statistics.median(waits):.2f} s,"
        f" p95 {waits[int(0.95 * (len(waits) - 1))]:.2f} s, {sum(waits) / lasted:.2f} of real time"
    )


if __name__ == "__main__":
    main()
