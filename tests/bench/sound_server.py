"""Kills or stalls the sound server while a visit speaks, and checks what the visit does.

    python -m tests.bench.sound_server --rounds 20 --seed 1

A visit by microphone, with and without a headset, runs on a separate PulseAudio server. One to two
seconds into a prompt, the server is killed (SIGKILL) and restarted, or stalled for up to 20 s and
continued (SIGSTOP, SIGCONT), or killed while it is stalled. The fault must be printed, the visit
must hear and speak again afterwards, and the first Ctrl-C must end it, whatever the server does.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from handsfree.journal import events as ev
from handsfree.journal.reader import JOURNAL, read, verify

JOB = Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml"
ROUNDS_A_VISIT = 5
Fault = Literal["killed", "stalled", "stalled and killed"]
STALL_S: dict[Fault, float] = {"killed": 0.0, "stalled": 20.0, "stalled and killed": 5.0}
"""Longest stall of a server (s)."""
LOST, BACK = "I lost the microphone", "I hear the microphone again"
BEGINS = "What is said near the microphone is recorded"
TONE_S = 0.3
PROMPT = "Say done when it is closed off"
NO_LOUDSPEAKER = "I lost the loudspeaker"
RATE = 16_000
_NOISE_S = 300


class Server:
    """A sound server without hardware that can be killed and restarted."""

    def __init__(self, folder: Path) -> None:
        runtime = folder / "run"
        runtime.mkdir(mode=0o700)
        self.environment = {**os.environ, "XDG_RUNTIME_DIR": str(runtime)}
        self._runtime = runtime
        self._noise = folder / "noise.raw"
        rng = np.random.default_rng(1)
        self._noise.write_bytes(rng.normal(0, 12, _NOISE_S * RATE).astype(np.int16).tobytes())
        self._processes: list[subprocess.Popen[bytes]] = []

    def start(self) -> None:
        """Starts the server and waits until it answers."""
        shutil.rmtree(self._runtime / "pulse", ignore_errors=True)
        self._run(
            "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1",
            "-L", "module-native-protocol-unix",
            "-L", f"module-null-sink sink_name=mic rate={RATE} channels=1",
            "-L", f"module-null-sink sink_name=speaker rate={RATE} channels=1",
            "-L", "module-remap-source master=mic.monitor source_name=the_mic",
        )  # fmt: skip
        ask = ["pactl", "set-default-source", "the_mic"]
        for _ in range(100):
            if subprocess.run(ask, env=self.environment, capture_output=True).returncode == 0:
                break
            time.sleep(0.1)
        ask = ["pactl", "set-default-sink", "speaker"]
        subprocess.run(ask, env=self.environment, check=True, capture_output=True)
        self._run(
            "pacat", "--device=mic", f"--rate={RATE}", "--channels=1", "--format=s16le", "--raw",
            str(self._noise),
        )  # fmt: skip

    def kill(self) -> None:
        """Ends the server as a crash does."""
        while self._processes:
            process = self._processes.pop(0)
            process.kill()
            process.wait()

    def stall(self) -> None:
        """Stalls the server, and with it every program that plays."""
        for process in self._processes:
            process.send_signal(signal.SIGSTOP)

    def go_on(self) -> None:
        """Continues the server after a stall."""
        for process in self._processes:
            process.send_signal(signal.SIGCONT)

    def _run(self, *words: str) -> None:
        null = subprocess.DEVNULL
        self._processes.append(
            subprocess.Popen(words, env=self.environment, stdout=null, stderr=null)
        )


class Speaking:
    """A visit by microphone in a separate process, and its output."""

    def __init__(self, server: Server, folder: Path, *options: str) -> None:
        self.folder = folder
        words = ["visit", "--job", str(JOB), "--out", str(folder), *options]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "handsfree", *words],
            env={**server.environment, "PYTHONUNBUFFERED": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.printed: list[tuple[float, str]] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def type(self, line: str) -> None:
        """Types a line."""
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def prints(self, since: int, *texts: str, within_s: float = 20.0) -> float:
        """Waits until one of the texts is printed; returns the time (monotonic clock)."""
        found = self.until(
            lambda: next(
                (at for at, line in self.printed[since:] if any(text in line for text in texts)),
                None,
            ),
            within_s,
        )
        if found is None:
            printed = "\n".join(line for _, line in self.printed[-8:])
            raise AssertionError(
                f"none of {texts} within {within_s:g} s; the last lines:\n{printed}"
            )
        return found

    def until(self, there: Callable[[], float | None], within_s: float) -> float | None:
        """Waits until ``there`` returns a value."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            if (found := there()) is not None:
                return found
            time.sleep(0.02)
        return None

    def speaks(self) -> bool:
        """True if the last text of the journal was spoken."""
        said = [e.body for e in read(self.folder) if isinstance(e.body, ev.Said)]
        return said[-1].aloud

    def ends(self, within_s: float = 20.0) -> float:
        """Sends Ctrl-C once; returns how long the program took to end."""
        begun_s = time.monotonic()
        self.process.send_signal(signal.SIGINT)
        self.process.wait(timeout=within_s)
        ended_s = time.monotonic()
        self.close()
        return ended_s - begun_s

    def close(self) -> None:
        """Ends the program in any case."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self._reader.join()
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            pipe.close()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.printed.append((time.monotonic(), line.rstrip("\n")))


def one_round(server: Server, visit: Speaking, rng: random.Random, fault: Fault) -> float:
    """Lets the server fail during a prompt and come back; returns the time until the fault was
    printed.
    """
    if any("tool  " in line for _, line in visit.printed):  # else it says its first words
        since = len(visit.printed)
        visit.type("say again")
        visit.prints(since, "heard  say again")
        time.sleep(TONE_S)
    time.sleep(rng.uniform(1, 2))
    failed_s = time.monotonic()
    since = len(visit.printed)
    fail(server, fault)
    reported_s = visit.prints(since, LOST, NO_LOUDSPEAKER) - failed_s
    visit.prints(since, LOST)
    time.sleep(rng.uniform(0, STALL_S[fault] or 3))
    if fault == "stalled":
        server.go_on()
    else:
        server.kill()
        server.start()
    visit.prints(since, BACK)
    for _ in range(10):
        since = len(visit.printed)
        visit.type("say again")
        visit.prints(since, "heard  say again")
        visit.prints(since, PROMPT)
        if visit.speaks():
            return reported_s
        time.sleep(1)
    raise AssertionError("it does not speak again, although a server runs")


def fail(server: Server, fault: Fault) -> None:
    """Kills or stalls the server."""
    if fault == "killed":
        server.kill()
    else:
        server.stall()


def run_rounds(
    folder: Path, rounds: int, seed: int, fault: Fault, *options: str
) -> tuple[list[float], list[float]]:
    """Runs ``rounds`` rounds in visits with these options: seconds until reported, seconds until
    ended.
    """
    rng = random.Random(seed)
    server = Server(folder)
    reported: list[float] = []
    ended: list[float] = []
    try:
        while len(reported) < rounds:
            server.start()
            visit = Speaking(server, folder / f"visit-{len(ended)}", *options)
            try:
                visit.prints(0, BEGINS, within_s=60)
                for _ in range(min(ROUNDS_A_VISIT, rounds - len(reported))):
                    reported.append(one_round(server, visit, rng, fault))
                if len(ended) % 2 == 0:  # once in mid-prompt without a server, once with one
                    visit.type("say again")
                    time.sleep(rng.uniform(1, 2))
                    fail(server, fault)
                    time.sleep(rng.uniform(0, 4))
                ended.append(visit.ends())
            finally:
                visit.close()
            ended_with = visit.process.returncode
            assert ended_with == 128 + signal.SIGINT, (ended_with, visit.printed[-40:])
            assert (visit.folder / JOURNAL).exists() and verify(visit.folder).whole
            foreign = [line for _, line in visit.printed if "Expression" in line or "ALSA" in line]
            assert not foreign, foreign  # a library of sound reached the terminal
            server.kill()
    finally:
        server.kill()
    return reported, ended


def main() -> None:
    """Prints how long the program took to report the fault, and to end."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fault", choices=get_args(Fault), action="append")
    chosen = parser.parse_args()
    for fault in chosen.fault or get_args(Fault):
        for options in ((), ("--headset",)):
            with tempfile.TemporaryDirectory() as folder:
                reported, ended = run_rounds(
                    Path(folder), chosen.rounds, chosen.seed, fault, *options
                )
            print(
                f"{fault}, {' '.join(options) or 'loudspeaker'}: {len(reported)} times, "
                f"reported after {np.median(reported):.1f} s (at most {max(reported):.1f} s); "
                f"{len(ended)} ended by one Ctrl-C, after at most {max(ended):.1f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
