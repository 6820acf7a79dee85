"""Makes the sound of the natural voices for a training.

    python -m handsfree.training.natural DATA --seconds 240 --share 1/2

DATA/natural is the output of ``prepare --natural``. Each share of the texts gets its own
sound-N.raw (mono, 16 bits, 16 kHz) and sound-N.jsonl (start, length, text, number) there. One GPU
makes it about 390 times faster than real time.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import torch

from handsfree.training.kokoro_network import Kokoro, speak
from handsfree.training.natural_voices import read_sayings
from handsfree.training.robot_voices import RATE_HZ, Sound


class Said(NamedTuple):
    """Position of an utterance in its sound file (samples), its text, and the text's number."""

    start: int
    length: int
    text: str
    number: int


def main() -> None:
    """Writes the sound of one share."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after")
    parser.add_argument("--share", default="1/1", help="which of how many shares, as 1/2")
    options = parser.parse_args()
    folder, began = options.data / "natural", time.monotonic()
    torch.set_float32_matmul_precision("high")
    torch.manual_seed(1)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    network = Kokoro.load(folder).to(device)
    voices = np.load(folder / "styles.npy").astype(np.float32)
    texts, sayings = read_sayings(folder)
    share, shares = map(int, options.share.split("/"))
    at = 0
    with (
        (folder / f"sound-{share}.raw").open("wb") as sounds,
        (folder / f"sound-{share}.jsonl").open("w", encoding="utf-8") as index,
    ):

        def keep(number: int, sound: Sound) -> None:
            nonlocal at
            sounds.write(sound.tobytes())
            index.write(json.dumps([at, len(sound), texts[number], number]) + "\n")
            at += len(sound)

        mine = sayings[share - 1 :: shares]
        said = speak(network, mine, voices, device, options.seconds, keep)
    took_s = time.monotonic() - began
    print(f"{took_s:.0f} s: {said} of {len(mine)} said, {at / RATE_HZ / 3600:.2f} h", flush=True)


def read_said(folder: Path) -> Iterator[tuple[Sound, list[Said]]]:
    """Reads every share's sound and the positions of its utterances."""
    for path in sorted(folder.glob("sound-*.jsonl")):
        lines = path.read_text(encoding="utf-8").splitlines()
        sound = np.memmap(path.with_suffix(".raw"), np.int16, "r")
        yield sound, [Said(*json.loads(line)) for line in lines]


if __name__ == "__main__":
    main()
