"""Cuts single words out of read sentences, because recordings of single words are few.

    python -m handsfree.training.cuts DATA MODEL

MODEL is the network.pt or the final.mdl of an earlier training, which locates the words. DATA is
the output of ``prepare``; the words are added to its index.json. It keeps words that it is sure of,
that are long enough to stand alone, and not too many of each.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from numpy.typing import NDArray
from torch.nn import functional

from handsfree.audio.levels import leveled
from handsfree.training.features import Mfcc
from handsfree.training.network import padded
from handsfree.training.sound_bank import DIGITS, Words, decoded
from handsfree.training.written_model import read_network

FROM = ("an4", "sentences")
MOST_OF_A_WORD, MOST_OF_A_DIGIT = 40, 250
_OUTPUT_SAMPLES = 480
_BEFORE, _AFTER = 1, 1
"""Output frames (30 ms) kept before the first phone, and before the next word."""
_LONGEST_TAIL = 6
_SHORTEST_S, _LONGEST_S = 0.2, 1.2
_FEWEST_PHONES = 3
_SURE = -0.35
"""Mean log posterior of a word's phones, each at its likeliest frame."""


class Cut(NamedTuple):
    """A word and its position in its recording (samples)."""

    word: str
    first: int
    last: int


def main() -> None:
    """Adds the cuts to the index."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("network", type=Path)
    options = parser.parse_args()
    torch.set_num_threads(1)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    network = read_network(options.network).to(device).eval()
    words: Words = json.loads((options.data / "words.json").read_text(encoding="utf-8"))
    path = options.data / "index.json"
    index: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    parts = {p: (options.data / f"sound-{p}.bin").read_bytes() for p in {r["part"] for r in index}}
    mfcc, of_a_word = Mfcc(device), Counter[str]()
    for row in index:
        row.pop("cuts", None)
        if row["group"] not in FROM or len(row["text"].split()) < 2:
            continue
        content = parts[row["part"]][row["start"] : row["start"] + row["bytes"]]
        sound = decoded(content)
        with torch.no_grad():
            features = mfcc(torch.from_numpy(leveled(sound)).float()[None].to(device))[0]
            scores = functional.log_softmax(network(padded(features)[None])[0], -1).cpu().numpy()
        cuts = [
            cut
            for cut in words_in(scores, row["text"].split(), words, len(sound))
            if of_a_word[cut.word] < (MOST_OF_A_DIGIT if cut.word in DIGITS else MOST_OF_A_WORD)
        ]
        of_a_word.update(cut.word for cut in cuts)
        if cuts:
            row["cuts"] = cuts
    path.write_text(json.dumps(index), encoding="utf-8")
    print(f"{of_a_word.total()} cuts of {len(of_a_word)} words")


def words_in(
    scores: NDArray[np.float32], said: Sequence[str], words: Words, samples: int
) -> list[Cut]:
    """The usable words of a recording, by its log posteriors (frames, outputs)."""
    phones = [words[word][0] for word in said]
    flat = [phone for each in phones for phone in each]
    if 2 * len(flat) + 1 > 2 * len(scores):
        return []
    spans = aligned(scores, flat)
    found, at = [], 0
    for number, (word, each) in enumerate(zip(said, phones, strict=True)):
        mine = spans[at : at + len(each)]
        at += len(each)
        sure = np.mean([scores[a : b + 1, p].max() for (a, b), p in zip(mine, each, strict=True)])
        begin = max(0, mine[0][0] - _BEFORE)
        following = spans[at][0] - _AFTER if number + 1 < len(said) else len(scores)
        end = min(following, mine[-1][1] + _LONGEST_TAIL)
        first, last = begin * _OUTPUT_SAMPLES, min(samples, end * _OUTPUT_SAMPLES)
        fits = _SHORTEST_S * 16_000 <= last - first <= _LONGEST_S * 16_000
        long = word in DIGITS or len(each) >= _FEWEST_PHONES
        if fits and long and sure > _SURE:
            found.append(Cut(word, first, last))
    return found


def aligned(scores: NDArray[np.float32], phones: Sequence[int]) -> list[tuple[int, int]]:
    """First and last frame of each phone on the likeliest path (blank is output 0)."""
    states = np.zeros(2 * len(phones) + 1, np.int64)
    states[1::2] = phones
    skips = np.zeros(len(states), bool)
    skips[3::2] = states[3::2] != states[1:-2:2]
    best = np.full(len(states), -np.inf)
    best[:2] = scores[0, states[:2]]
    came = np.zeros((len(scores), len(states)), np.int8)
    for time in range(1, len(scores)):
        one = np.concatenate(([-np.inf], best[:-1]))
        two = np.where(skips, np.concatenate(([-np.inf, -np.inf], best[:-2])), -np.inf)
        choices = np.stack((best, one, two))
        came[time] = choices.argmax(0)
        best = choices.max(0) + scores[time, states]
    state = len(states) - 1 if best[-1] >= best[-2] else len(states) - 2
    spans = [(len(scores), -1)] * len(phones)
    for time in range(len(scores) - 1, -1, -1):
        if state % 2:
            first, last = spans[state // 2]
            spans[state // 2] = min(first, time), max(last, time)
        state -= int(came[time, state])
    return spans


if __name__ == "__main__":
    main()
