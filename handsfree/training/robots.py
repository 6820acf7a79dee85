"""Makes the sound of the robot voices for a training.

    python -m handsfree.training.robots DATA --seconds 240

DATA is the output of ``prepare``; the voices in DATA/voices read its texts.txt. DATA/robots gets
sound-1.raw and sound-1.jsonl in the format of ``natural``. It uses only processors, about 20 texts
a second per core, so it can run while a GPU makes the natural voices.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from contextlib import closing
from pathlib import Path

from handsfree.training.robot_voices import RATE_HZ, read_all


def main() -> None:
    """Writes the sound."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after")
    parser.add_argument("--texts", type=int, default=1_000_000, help="to read at most")
    parser.add_argument("--processes", type=int, default=max(1, (os.cpu_count() or 2) - 1))
    options = parser.parse_args()
    began, at, said = time.monotonic(), 0, 0
    texts = (options.data / "texts.txt").read_text(encoding="utf-8").splitlines()[: options.texts]
    folder = options.data / "robots"
    folder.mkdir(exist_ok=True)
    with (
        (folder / "sound-1.raw").open("wb") as sounds,
        (folder / "sound-1.jsonl").open("w", encoding="utf-8") as index,
        closing(read_all(texts, options.data / "voices", options.processes)) as reading,
    ):
        for number, sound in reading:
            sounds.write(sound.tobytes())
            index.write(json.dumps([at, len(sound), texts[number], number]) + "\n")
            at, said = at + len(sound), said + 1
            if time.monotonic() - began > options.seconds:
                break
    print(f"{said} of {len(texts)} read, {at / RATE_HZ / 3600:.2f} h", flush=True)


if __name__ == "__main__":
    main()
