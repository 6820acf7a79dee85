"""Kills a typed visit at random moments, resumes it, and looks for losses.

    python -m tests.bench.kills --kills 300 --seed 1

The program writes an utterance to disk before it prints it. So every utterance that was on the
screen must be in the journal afterwards, nothing in the journal may change, and the journal must
verify. The only exception is an incomplete last line after a kill, which resuming names.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

from handsfree.journal import events as ev
from handsfree.journal.reader import JOURNAL, scan_folder, verify
from tests.talk import PROCEDURE

JOB = """
[job]
reference = "KILLS"
site = "a machine that loses its power"
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
_EARLY = 0.15
"""Share of the kills that come within the first two seconds, mostly while the program starts."""
_LINES = 30
"""Lines that are printed before another kill, on average."""
_WITHIN_S = 0.05
"""Longest wait between the last of those lines and the kill (s): a turn takes about as long."""


class Lost(AssertionError):
    """Names something that was there and is gone."""


def lines(rng: random.Random) -> list[str]:
    """Readings, and their 'affirm'; the last one that the visit waits for is never among them."""
    said = ["done", "clear", "done", "in order", "affirm", "left hand", "affirm"]
    for _ in range(400):
        value = f"{rng.randint(3, 9)} point {rng.randint(0, 9)}"
        what = rng.choice(("opening time", "closing time", "latching time"))
        said += [f"left leaf {what} {value}", rng.choice(("affirm", "affirm", "negative"))]
    return said


def killed(words: list[str], rng: random.Random) -> list[str]:
    """Runs until a random moment, counted in printed lines; returns the utterances among them."""
    process = subprocess.Popen(
        [sys.executable, "-m", "handsfree", *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdin is not None and process.stdout is not None
    printed: list[str] = []
    reader = threading.Thread(target=printed.extend, args=(process.stdout,))
    reader.start()
    process.stdin.write("\n".join(lines(rng)) + "\n")
    process.stdin.flush()
    if rng.random() < _EARLY:
        time.sleep(rng.uniform(0, 2))
    else:
        enough = 1 + round(rng.expovariate(1 / _LINES))
        while len(printed) < enough and process.poll() is None:
            time.sleep(0.001)
        time.sleep(rng.uniform(0, _WITHIN_S))
    process.kill()
    process.wait()
    reader.join()
    process.stdin.close()
    process.stdout.close()
    whole = [line for line in printed if line.endswith("\n")]
    return [" ".join(line.split()[1:]) for line in whole if line.split()[:1] == ["heard"]]


def check_journal(folder: Path, before: bytes, heard: list[str], count: Counter[str]) -> bytes:
    """Returns the journal as it is now. Raises Lost if something is missing."""
    content = (folder / JOURNAL).read_bytes() if (folder / JOURNAL).exists() else b""
    if not content.startswith(before):
        raise Lost("what stood in the journal has changed")
    if not content:
        count["before the first line"] += 1
        return b""
    found = scan_folder(folder)
    if found.broken is not None:
        raise Lost(f"line {found.broken.line}: {found.broken.reason}")
    count["torn last line" if found.torn else "whole"] += 1
    there = [e.body.text for e in found.events if isinstance(e.body, ev.Heard)]
    missing = Counter(heard) - Counter(there)
    if missing:
        raise Lost(f"printed and not in the journal: {dict(missing)}")
    return content[: len(content) - len(found.torn)]


def kill_repeatedly(folder: Path, kills: int, seed: int) -> Counter[str]:
    """Kills visits ``kills`` times, with a new visit after every 25; counts the findings
    by kind.
    """
    rng = random.Random(seed)
    (folder / "small.toml").write_text(PROCEDURE, encoding="utf-8")
    (folder / "a.job.toml").write_text(JOB, encoding="utf-8")
    count: Counter[str] = Counter()
    visit, before = folder / "visit-0", b""
    for nth in range(kills):
        if nth % 25 == 0:
            visit, before = folder / f"visit-{nth}", b""
        begun = bool(before)
        new = [
            "visit", "--typed", "--out", str(visit),
            "--job", str(folder / "a.job.toml"), "--procedure", str(folder / "small.toml"),
        ]  # fmt: skip
        words = ["resume", "--typed", str(visit)] if begun else new
        before = check_journal(visit, before, killed(words, rng), count)
    for path in folder.glob("visit-*"):
        verify(path)
        kept = [event.body for event in scan_folder(path).events]
        count["readings"] += sum(isinstance(body, ev.ReadingAccepted) for body in kept)
    return count


def main() -> None:
    """Prints the findings; exit code 1 if anything was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    begun_s = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        try:
            count = kill_repeatedly(Path(folder), options.kills, options.seed)
        except Lost as lost:
            sys.exit(f"lost: {lost}")
    print(f"{options.kills} kills in {time.monotonic() - begun_s:.0f} s, nothing lost")
    for kind, number in sorted(count.items()):
        print(f"  {kind}: {number}")


if __name__ == "__main__":
    main()
