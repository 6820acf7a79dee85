"""Records a visit by air: the owner's daily check, spoken and heard in a virtual room.

    python audio_fixtures/by_air.py audio_fixtures/by-air.flac

The program runs with its microphone and loudspeaker on PulseAudio sinks. A simulated person with
another voice (flite) hears the loudspeaker, recognizes prompts by comparing them with the tool's
own voice, and answers into the microphone. The left channel is the microphone, the right one the
loudspeaker, both reduced by 12 dB to keep the file small. It takes as long as the visit; door,
building and people are invented.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile

from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.synthesis.voice import VoiceWorker

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.air import RATE, Room, flite, missing, said

JOB = """
[job]
reference = "AH-0032"
site = "Alder House, garden entrance"
technician = "R. Almeda"

[opening]
name = "garden entrance"
seen_from = "garden side"
swing = "single"
activation = "push plates"

[[leaf]]
name = "left"

[[motor]]
number = 1
"""
_SOFT = 3.0  # RMS of the room's noise: it costs most of the bytes
_SOFTER = 4


def answer_to(text: str) -> str:
    """The simulated person's answer to a prompt of the daily check."""
    if "Say clear" in text:
        return "clear"
    if "Say done" in text:
        return "done"
    if text.endswith((", OK.", ", pass.")):
        return "affirm"
    return "pass"


def told_and_answered(folder: Path) -> list[tuple[str, str]]:
    """The prompts and answers of the visit, found by a typed visit first."""
    turns: list[tuple[str, str]] = []
    while True:
        visit = folder / f"typed-{len(turns)}"
        words = ["visit", "--job", str(folder / "a.job.toml"), "--procedure", "daily-check"]
        typed = "\n".join(answer for _, answer in turns)
        subprocess.run(
            [sys.executable, "-m", "handsfree", *words, "--typed", "--out", str(visit)],
            input=typed,
            text=True,
            capture_output=True,
            check=True,
        )
        events = [event.body for event in read(visit)]
        if any(isinstance(body, ev.VisitClosed) for body in events):
            return turns
        last = [body.text for body in events if isinstance(body, ev.Said)][-1]
        turns.append((last, answer_to(last)))


def main() -> None:
    """Runs the visit and writes both channels."""
    if (why := missing()) is not None:
        sys.exit(why)
    with tempfile.TemporaryDirectory() as name, Room(_SOFT) as room:
        folder = Path(name)
        (folder / "a.job.toml").write_text(JOB, encoding="utf-8")
        turns = told_and_answered(folder)
        visit, voice, at = folder / "visit", VoiceWorker(), 0
        spoken_from, heard_from = len(room.spoken), len(room.heard)
        words = ["visit", "--job", str(folder / "a.job.toml"), "--procedure", "daily-check"]
        with subprocess.Popen(
            [sys.executable, "-m", "handsfree", *words, "--out", str(visit)],
            env=room.environment,
            stdin=subprocess.PIPE,
        ) as program:
            for text, answer in turns:
                _, at = said(room, at, [text], voice)
                time.sleep(max(0.0, room.say(flite(answer)) - time.monotonic()))
            program.wait(60)
        voice.close()
        assert verify(visit).whole
        heard = [event.body.text for event in read(visit) if isinstance(event.body, ev.Heard)]
        print(f"{len(turns)} turns; heard as said: {heard == [answer for _, answer in turns]}")
        sides = room.spoken[spoken_from:], room.heard[heard_from:]
    length = min(map(len, sides))
    both = np.stack([side[:length] for side in sides], axis=1) // _SOFTER
    sound = io.BytesIO()
    soundfile.write(sound, both, RATE, format="FLAC", subtype="PCM_16", compression_level=1.0)
    Path(sys.argv[1]).write_bytes(sound.getvalue())
    print(f"{length / RATE:.0f} s, {len(sound.getvalue()) / 1e6:.2f} MB")


main()
