"""A visit by air: a program that speaks and listens, and a simulated person who answers.

That person recognizes each prompt by comparing the sound with the tool's voice for every possible
sentence. The set is closed, so no second recognizer is needed.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from handsfree.job.quantity import Quantity
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.synthesis.voice import VoiceWorker
from handsfree.visit_record.progress import job_of
from tests.air import Room, flite, missing, said
from tests.talk import PROCEDURE

JOB = """
[job]
reference = "BY-AIR"
site = "a room without hardware"
technician = "nobody"
[opening]
name = "entrance"
seen_from = "street"
swing = "single"
activation = "push plates"
[[leaf]]
name = "left"
[[motor]]
number = 1
"""
CAUTION = (
    "Caution. The sensors are inactive during the learn cycle, keep the swing path clear. "
    "Say clear when it is clear."
)


@pytest.fixture
def room() -> Iterator[Room]:
    if (why := missing()) is not None:
        pytest.skip(why)
    with Room() as room:
        yield room


class Program:
    """handsfree visit in a separate process, at the room's microphone and loudspeaker."""

    def __init__(self, room: Room, folder: Path, *options: str) -> None:
        (folder / "small.toml").write_text(PROCEDURE, encoding="utf-8")
        (folder / "a.job.toml").write_text(JOB, encoding="utf-8")
        self.visit = folder / "visit"
        self._process = subprocess.Popen(
            [
                sys.executable, "-m", "handsfree", "visit",
                "--job", folder / "a.job.toml", "--procedure", folder / "small.toml",
                "--out", self.visit, *options,
            ],
            env=room.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )  # fmt: skip

    def type(self, line: str) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()

    def has(self, kind: type, count: int = 1, within_s: float = 15.0) -> bool:
        """Waits for events of a kind in the journal."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            if (self.visit / "journal.jsonl").exists() and len(self.bodies(kind)) >= count:
                return True
            time.sleep(0.1)
        return False

    def bodies(self, kind: type) -> list:
        return [each.body for each in read(self.visit) if isinstance(each.body, kind)]

    def end(self) -> None:
        self._process.terminate()
        self._process.communicate(timeout=20)


@pytest.fixture
def program(room: Room, tmp_path: Path) -> Iterator[Program]:
    program = Program(room, tmp_path)
    yield program
    program.end()


@pytest.mark.slow
def test_a_visit_by_air_is_heard_answered_and_kept(room: Room, program: Program) -> None:
    voice = VoiceWorker()
    steps = (
        ("Switch the power off and prove it dead.", "done"),
        (CAUTION, "clear"),
        ("Start the learn cycle and watch it.", "done"),
        ("Swing the left leaf by hand. Does it swing freely?", "in order"),
        (
            "OK. Which hand is motor one, left or right? Seen from the street.",
            "left hand",
        ),
        (
            "Left hand. Time the left leaf to backcheck and say the opening time.",
            "opening time six point two",
        ),
        (
            "Six point two. Time how long the left leaf stays open.",
            "hold open time five point nine",
        ),
        ("Left leaf, hold open time, five point nine seconds.", "affirm"),
    )
    at = 0
    for prompt, answer in steps:
        heard, at = said(room, at, [text for text, _ in steps], voice)
        assert heard == prompt
        time.sleep(max(0.0, room.say(flite(answer)) - time.monotonic()))
    assert program.has(ev.ReadingAccepted, 2)
    voice.close()
    assert [body.how for body in program.bodies(ev.ReadingAccepted)] == ["implicit", "explicit"]
    reading, _ = job_of(read(program.visit)).readings
    assert (reading.quantity, str(reading.value)) == (Quantity.OPENING_TIME, "6.2")
    assert reading.clip is not None
    heard = [body.text for body in program.bodies(ev.Heard)]
    assert heard == [answer for _, answer in steps]
    assert not program.bodies(ev.Fault)
    assert verify(program.visit).whole


@pytest.mark.slow
def test_a_keyboard_works_beside_the_voice_and_while_the_microphone_is_gone(
    room: Room, program: Program
) -> None:
    assert room.sounded(0)
    program.type("done")
    assert program.has(ev.CautionGiven)
    assert program.bodies(ev.Heard)[0].clip is None
    room.unplug()
    assert program.has(ev.Fault)
    program.type("clear")
    assert program.has(ev.CautionAcknowledged)
    room.plug_in()
    assert program.has(ev.Fault, 2)
    assert [body.what for body in program.bodies(ev.Fault)] == [
        "microphone_lost",
        "microphone_back",
    ]
    assert room.quiet(1.5)
    time.sleep(1.0)
    room.say(flite("done"))
    assert program.has(ev.StepEnded, 2), program.bodies(ev.Heard)
    assert verify(program.visit).whole


@pytest.mark.slow
def test_with_a_headset_speaking_stops_the_prompt_and_is_heard_whole(
    room: Room, tmp_path: Path
) -> None:
    program = Program(room, tmp_path, "--headset")
    try:
        assert room.sounded(0)
        assert program.has(ev.Said)
        room.quiet(0.3, within_s=1.0)
        done = room.say(flite("done"))
        assert program.has(ev.Heard)
        assert program.bodies(ev.Heard)[0].text == "done"
        assert program.has(ev.CautionGiven)
        # The caution is said to its end, whatever is spoken into it.
        time.sleep(max(0.0, done + 1.5 - time.monotonic()))
        room.say(flite("clear"))
        assert program.has(ev.CautionAcknowledged)
        said = {body.text: body for body in program.bodies(ev.Said)}
        caution = next(body for text, body in said.items() if text.startswith("Caution."))
        assert caution.aloud
        assert float(caution.seconds) > 5
    finally:
        program.end()
    assert verify(program.visit).whole
