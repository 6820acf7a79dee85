"""Measures how fast a live visit answers, stops and starts, and what it costs while nobody speaks.

    python -m tests.bench.live --json live.json
    python -m tests.bench.live --only reply barge

A whole `handsfree visit` runs at a sound server without hardware (tests/air.py); another voice
(flite rms) speaks into its microphone in real time. Two taps of the same kind record the
microphone and the loudspeaker from the server, so that their delays cancel, except for about 10 ms.
A sound begins and ends with the 10 ms frames that are less than 30 dB below its loudest one. Other
work on the machine makes the times longer, so the load before each part is kept with it.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import numpy as np
from numpy.typing import NDArray

from handsfree.checks.limits import load_limits
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.visit.resume import opening_event, state_of

from ..air import RATE, Room, Samples, flite, missing
from ..talk import PROCEDURE, SHEET

FRAME = RATE // 100
SOUND_RMS = 60.0  # of 32768; the loudspeaker's own silence is digital
BELOW_PEAK_DB = 30.0

JOB = """[job]
reference = "B-1"
site = "a bench"
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

QUESTIONS = ("say again", "where am i", "why", "what is left", "help", "read back left leaf")
"""Questions that are answered at any step and leave the visit where it is."""
READINGS = ("opening time six point two", "hold open time five point five")
"""Readings that are read back digit by digit, so the voice makes the sentence again for every
value.
"""
OTHER_TALK = (
    "we could come back on monday with the longer ladder and the other drill",
    "there is a delivery at the back door and nobody is there to sign for it",
)


class Tap:
    """Records one monitor of the sound server, and knows when each sample arrived."""

    def __init__(self, room: Room, monitor: str) -> None:
        self._process = subprocess.Popen(
            [
                "parec", f"--device={monitor}", f"--rate={RATE}", "--channels=1",
                "--format=s16le", "--latency-msec=10", "--raw",
            ],
            env=room.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._sound = bytearray()
        self._lock = threading.Lock()
        self._begun_s = float("inf")
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()
        while not self._sound and self._process.poll() is None:
            time.sleep(0.02)

    def _keep(self) -> None:
        assert self._process.stdout is not None
        while data := os.read(self._process.stdout.fileno(), 4096):
            now_s = time.monotonic()
            with self._lock:
                self._sound += data
                # A chunk may come late but never early, so the earliest one gives the start.
                self._begun_s = min(self._begun_s, now_s - len(self._sound) / 2 / RATE)

    def loudness(self, since_s: float) -> tuple[NDArray[np.float64], float]:
        """Returns the RMS of each frame since that time (monotonic), and the time of the first
        frame.
        """
        with self._lock:
            whole = len(self._sound) // (2 * FRAME) * FRAME
            skip = min(max(0, round((since_s - self._begun_s) * RATE)) // FRAME * FRAME, whole)
            samples = np.frombuffer(bytes(self._sound[2 * skip : 2 * whole]), np.int16)
        frames = samples.reshape(-1, FRAME).astype(np.float64)
        return np.sqrt(np.mean(frames**2, axis=1)), self._begun_s + skip / RATE

    def close(self) -> None:
        """Ends the recording."""
        self._process.terminate()
        self._process.wait()
        self._thread.join()
        assert self._process.stdout is not None
        self._process.stdout.close()


def bounds(loudness: NDArray[np.float64]) -> tuple[float, float]:
    """Returns the start and the end of the sound in these frames (s from the first of them)."""
    loud = np.flatnonzero(loudness > loudness.max() * 10 ** (-BELOW_PEAK_DB / 20))
    return float(loud[0] * FRAME / RATE), float((loud[-1] + 1) * FRAME / RATE)


class Live:
    """A visit that runs in a room, with taps on its microphone and its loudspeaker."""

    def __init__(self, room: Room, folder: Path, *options: str, **variables: str) -> None:
        (folder / "bench.job.toml").write_text(JOB, encoding="utf-8")
        (folder / "small.toml").write_text(PROCEDURE, encoding="utf-8")
        self.out = folder / "visit"
        self.room = room
        self.mic, self.speaker = Tap(room, "mic.monitor"), Tap(room, "speaker.monitor")
        self.started_s = time.monotonic()
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", "handsfree", "visit",
                "--job", str(folder / "bench.job.toml"),
                "--procedure", str(folder / "small.toml"), "--out", str(self.out), *options,
            ],
            env={**room.environment, "HANDSFREE_SETTINGS": str(folder / "none.toml"), **variables},
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=(folder / "stderr.txt").open("wb"),
        )  # fmt: skip

    def first_sound_s(self, since_s: float, within_s: float = 20.0) -> float:
        """Returns the time of the first sound from the loudspeaker after that time."""
        while time.monotonic() < since_s + within_s:
            loudness, begun_s = self.speaker.loudness(since_s)
            if len(loud := np.flatnonzero(loudness > SOUND_RMS)):
                return begun_s + float(loud[0]) * FRAME / RATE
            time.sleep(0.02)
        raise SystemExit(f"nothing was said within {within_s:g} s")

    def wait_quiet(self, seconds: float = 1.0, within_s: float = 60.0) -> None:
        """Waits until the loudspeaker has been silent for ``seconds``."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            loudness, _ = self.speaker.loudness(time.monotonic() - seconds)
            if len(loudness) and not np.any(loudness > SOUND_RMS):
                return
            time.sleep(0.05)
        raise SystemExit(f"the loudspeaker is not silent within {within_s:g} s")

    def say(self, samples: Samples) -> tuple[float, float]:
        """Speaks, waits, and returns when the sound started and ended at the microphone."""
        begun_s = time.monotonic()
        time.sleep(max(0.0, self.room.say(samples) - begun_s) + 0.15)
        loudness, first_s = self.mic.loudness(begun_s)
        start_s, end_s = bounds(loudness)
        return first_s + start_s, first_s + end_s

    def close(self) -> None:
        """Ends the visit and the taps."""
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        assert self.process.stdin is not None
        self.process.stdin.close()
        self.mic.close()
        self.speaker.close()


@contextmanager
def live(*options: str, **variables: str) -> Iterator[Live]:
    """Starts a visit and waits for its first prompt."""
    with Room() as room, tempfile.TemporaryDirectory() as folder:
        visit = Live(room, Path(folder), *options, **variables)
        try:
            visit.first_sound_s(visit.started_s)
            visit.wait_quiet()
            yield visit
        except SystemExit:
            print((Path(folder) / "stderr.txt").read_text(encoding="utf-8"), file=sys.stderr)
            for event in read(visit.out)[-6:]:
                print(event.body, file=sys.stderr)
            raise
        finally:
            visit.close()


def reply(count: int) -> dict[str, Any]:
    """Measures the time from the end of speech to the first sound of the reply, with and without
    tones.
    """
    found = {}
    for name, tones in (("tone", "true"), ("word", "false")):
        with live(HANDSFREE_TONES=tones) as visit:
            took_s = []
            for number in range(count):
                asked = (*QUESTIONS, *READINGS)[number % (len(QUESTIONS) + len(READINGS))]
                _, end_s = visit.say(flite(asked))
                took_s.append(visit.first_sound_s(end_s) - end_s)
                visit.wait_quiet()
            understood = _understood(visit.out)
        found[f"end of speech to first {name}, ms"] = _spread(took_s)
        found[f"understood, {name}"] = f"{understood} of {count}"
    return found


def barge(count: int) -> dict[str, Any]:
    """Measures the time from the first sound of a person who interrupts a prompt to its silence,
    with a headset.
    """
    again = flite("say again")
    took_s, missed = [], 0
    with live("--headset") as visit:
        visit.say(again)
        for _ in range(count):
            begun_s = visit.first_sound_s(time.monotonic())
            time.sleep(max(0.0, begun_s + 0.7 - time.monotonic()))
            start_s, _ = visit.say(again)
            loudness, first_s = visit.speaker.loudness(start_s)
            silent = np.flatnonzero(np.convolve(loudness > SOUND_RMS, np.ones(20), "valid") == 0)
            if not len(silent):
                missed += 1
                continue
            took_s.append(max(0.0, first_s + float(silent[0]) * FRAME / RATE - start_s))
        visit.first_sound_s(time.monotonic())  # the answer to the last of them
        understood = _understood(visit.out)
    return {
        "speaking to silence of the prompt, ms": _spread(took_s),
        "prompts that were not stopped": missed,
        "heard whole": f"{understood} of {count + 1}",
    }


def cost(seconds: float) -> dict[str, Any]:
    """Measures processor time and memory of the whole visit, while nobody speaks and while somebody
    always does.
    """
    found: dict[str, Any] = {}
    with live() as visit:
        found["idle, % of one core"] = _busy(visit.process.pid, seconds)
        visit.say(flite("stand by"))
        visit.wait_quiet(2.0)
        until_s = time.monotonic() + seconds
        talk = np.concatenate([_and_pause(flite(text)) for text in OTHER_TALK])
        while visit.room.say(talk) < until_s:
            pass
        found["somebody talks, % of one core"] = _busy(visit.process.pid, seconds)
        visit.process.poll()
        found["resident, MB"] = _memory(visit.process.pid)
    return found


def start(count: int) -> dict[str, Any]:
    """Measures the time from the start of the command to its first spoken word, with the files in
    the cache.
    """
    took_s = []
    for _ in range(count):
        with live() as visit:
            took_s.append(visit.first_sound_s(visit.started_s) - visit.started_s)
    return {"start to first word, ms": _spread(took_s)}


def disk(count: int) -> dict[str, Any]:
    """Measures one append with its flush, and a whole turn of two events, in the working folder."""
    body = ev.Said(text="Opening time of the left leaf.", role="prompt", aloud=True, seconds="1.5")
    now = datetime.now(UTC)
    with (
        tempfile.TemporaryDirectory(dir=Path.cwd()) as folder,
        Journal.create(Path(folder)) as journal,
    ):
        one = [_timed(lambda: journal.append(body, now)) for _ in range(count)]
        two = [_timed(lambda: journal.append_all((body, body), now)) for _ in range(count)]
    return {"append of one event, ms": _spread(one), "append of two, ms": _spread(two)}


def replay(count: int) -> dict[str, Any]:
    """Measures reading a journal of ``count`` events, and folding them into a state."""
    procedure, limits = load_procedure("controller-replaced-pair"), load_limits("a156.19")
    language = Language.load()
    first = opening_event(SHEET, procedure, limits, model="none", ears="typed", mouth="silent")
    turn = (
        ev.Heard(text="where am i", meaning={"kind": "ask", "what": "place"}),
        ev.Said(text="Left leaf.", role="answer", aloud=True, seconds=Decimal("0.8")),
        ev.StepEntered(key="power-off"),
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Journal.create(folder) as journal:
            many = tuple(turn[number % 3] for number in range(count - 1))
            journal.append_all((first, *many), datetime.now(UTC))
        read_s = [_timed(lambda: read(folder)) for _ in range(5)]
        events = read(folder)
        fold_s = [
            _timed(lambda: state_of(events, procedure, limits, language, folder)) for _ in range(5)
        ]
    return {
        "events": len(events),
        "read and verified, ms": round(1000 * median(read_s)),
        "folded, ms": round(1000 * median(fold_s)),
    }


PARTS: dict[str, Callable[[], dict[str, Any]]] = {
    "disk": lambda: disk(500),
    "replay": lambda: replay(10_000),
    "start": lambda: start(5),
    "reply": lambda: reply(24),
    "barge": lambda: barge(12),
    "cost": lambda: cost(30.0),
}


def _and_pause(samples: Samples) -> Samples:
    return np.concatenate((samples, np.zeros(RATE // 2, np.int16)))


def _timed(work: Callable[[], object]) -> float:
    begun_s = time.perf_counter()
    work()
    return time.perf_counter() - begun_s


def _spread(seconds: list[float]) -> dict[str, float]:
    """Returns the median, the 95th percentile and the maximum (ms)."""
    if len(seconds) < 2:
        return {"n": len(seconds)}
    return {
        "n": len(seconds),
        "median": round(1000 * median(seconds), 1),
        "p95": round(1000 * quantiles(seconds, n=20, method="inclusive")[18], 1),
        "most": round(1000 * max(seconds), 1),
    }


def _understood(folder: Path) -> int:
    heard = [event.body for event in read(folder) if isinstance(event.body, ev.Heard)]
    return sum(body.meaning is not None for body in heard)


def _tree(root: int) -> list[int]:
    """Lists a process and its descendants."""
    found, at = [root], 0
    while at < len(found):
        for task in Path(f"/proc/{found[at]}/task").iterdir():
            found += [int(each) for each in (task / "children").read_text().split()]
        at += 1
    return found


def _ticks(root: int) -> int:
    total = 0
    for each in _tree(root):
        fields = Path(f"/proc/{each}/stat").read_text().rpartition(")")[2].split()
        total += int(fields[11]) + int(fields[12])
    return total


def _busy(root: int, seconds: float) -> float:
    before, begun_s = _ticks(root), time.monotonic()
    time.sleep(seconds)
    used_s = (_ticks(root) - before) / os.sysconf("SC_CLK_TCK")
    return round(100 * used_s / (time.monotonic() - begun_s), 1)


def _memory(root: int) -> dict[str, float]:
    """Returns the resident memory of all processes: the sum, and with shared pages counted once."""
    kinds = {"Rss": 0, "Pss": 0}
    for each in _tree(root):
        for line in Path(f"/proc/{each}/smaps_rollup").read_text().splitlines():
            name, _, rest = line.partition(":")
            if name in kinds:
                kinds[name] += int(rest.split()[0])
    return {
        "processes": len(_tree(root)),
        "sum of all": round(kinds["Rss"] / 1000, 1),
        "shared counted once": round(kinds["Pss"] / 1000, 1),
    }


def main() -> None:
    """Prints the measurements and writes JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", type=Path)
    parser.add_argument("--only", nargs="+", choices=list(PARTS), default=list(PARTS))
    asked = parser.parse_args()
    if (why := missing()) is not None:
        raise SystemExit(why)
    found: dict[str, Any] = {}
    for name in asked.only:
        load = round(os.getloadavg()[0], 2)
        found[name] = {"load before": load, **PARTS[name]()}
        print(name, json.dumps(found[name], indent=1), flush=True)
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
