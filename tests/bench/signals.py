"""Sends signals to a typed visit at random instants, on a machine without a sound server.

    python -m tests.bench.signals --signals 200 --seed 1

Most signals arrive during the start, while the program looks for sound devices and calls into the
sound system. Every signal must end the visit.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from handsfree.journal.reader import JOURNAL, scan_folder

JOB = Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml"
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Deaf(AssertionError):
    """Reports a signal that ended nothing."""


def ended(folder: Path, sent: signal.Signals, after_s: float, within_s: float = 20.0) -> int:
    """Starts a visit, sends it one signal, waits for its end, and returns its exit code."""
    empty = folder.parent / "no-server"
    empty.mkdir(exist_ok=True, mode=0o700)
    process = subprocess.Popen(
        [sys.executable, "-m", "handsfree", "visit", "--typed", "--job", JOB, "--out", folder],
        env={**os.environ, "XDG_RUNTIME_DIR": str(empty), "PULSE_SERVER": f"unix:{empty}/none"},
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        # What started us may ignore them (nohup, a background job), and a child inherits that.
        preexec_fn=_signals_as_usual,
    )
    try:
        time.sleep(after_s)
        process.send_signal(sent)
        return process.wait(timeout=within_s)
    except subprocess.TimeoutExpired:
        raise Deaf(f"{sent.name} after {after_s:.3f} s ended nothing") from None
    finally:
        process.kill()
        process.wait()
        assert process.stdin is not None
        process.stdin.close()


def _signals_as_usual() -> None:
    for each in SIGNALS:
        signal.signal(each, signal.SIG_DFL)


def signal_repeatedly(folder: Path, signals: int, seed: int, longest_s: float) -> Counter[str]:
    """Sends ``signals`` signals, each to a separate visit; counts how they ended. Raises Deaf."""
    rng = random.Random(seed)
    count: Counter[str] = Counter()
    for nth in range(signals):
        visit, sent = folder / f"visit-{nth}", rng.choice(SIGNALS)
        code = ended(visit, sent, rng.uniform(0, longest_s))
        kept = (visit / JOURNAL).exists()
        if kept and scan_folder(visit).broken is not None:
            raise Deaf(f"{sent.name} broke the journal")
        in_order = code == 128 + sent
        count[f"{'in order' if in_order else 'at once'}, {'a' if kept else 'no'} journal"] += 1
    return count


def main() -> None:
    """Prints how the visits ended; exit code 1 if a signal ended nothing."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--signals", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--longest", type=float, default=5.0, help="latest time of a signal (s)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            count = signal_repeatedly(Path(folder), options.signals, options.seed, options.longest)
        except Deaf as deaf:
            sys.exit(str(deaf))
    print(f"{options.signals} signals, every one ended its visit")
    for kind, number in sorted(count.items()):
        print(f"  {kind}: {number}")


if __name__ == "__main__":
    main()
