"""Measures how well the tool hears: shares of utterances understood, with intervals, as a table and
JSON.

    python -m tests.bench.hearing --json hearing.json
    python -m tests.bench.hearing --model my-model --model shipped --yardstick
    python -m tests.bench.hearing --clips CLIPS --only 'natural|refusals'
    python -m tests.bench.hearing --clips CLIPS --language es --only natural

Real people and noises come from ../shared/speech or the folder that --data or HANDSFREE_SPEECH_DATA
names. Natural voices come from the folder that natural_clips.py made, which --clips or
HANDSFREE_CLIPS names. Robot voices come from flite, festival and espeak-ng. Each voice has its own
rows, and different kinds of voices are never added up. Several models get the same sound.
``--yardstick`` adds pocketsphinx with its own model (the bench extra). docs/speech-model.md
explains each row. Intervals are Wilson's, 95 %.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import RULES, Language
from handsfree.language.wording import ENGLISH
from handsfree.recognition.graph_compiler import compile_graph
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from tests.bench import hearing_costs, word_starts
from tests.bench.chat import CHAT
from tests.bench.circumstances import circumstances
from tests.bench.listening_material import (
    LEVELS_DB,
    VOICES,
    Clips,
    Sample,
    Sound,
    in_noise,
    level_name,
    natural_clips,
    noises,
    read_aloud,
    recordings,
    refusals,
    sentences,
    why_missing,
)
from tests.bench.score import Cell, Counted
from tests.bench.yardstick import PocketSphinx

ROOT = Path(__file__).parents[2]
CLIPS = os.environ.get("HANDSFREE_CLIPS")
DATA = Path(os.environ.get("HANDSFREE_SPEECH_DATA", ROOT.parent / "shared" / "speech"))
COSTS, WORD_STARTS = "costs", "word starts"
TIMED_COUNT = 40
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_ANSWERS = ("yes", "no", "stop", "left", "right")
REFUSALS = "refusals heard as assent"

Hears = Callable[[NDArray[np.int16]], str]
Cells = dict[str, Cell]


@dataclass(frozen=True)
class Row:
    """One row of the table. Rows of one ``pool`` are added up to a row of that name."""

    title: str
    samples: list[Sample]
    counted: Counted = "right"
    rule: str = "utterance"
    pool: str | None = None


@dataclass(frozen=True)
class Listener:
    """A model or the yardstick, with a recognizer for each rule of the grammar."""

    name: str
    hears: dict[str, Hears]
    recognizer: VoskRecognizer | None = None


def rows(
    language: Language,
    data: Path,
    natural: list[Clips],
    voices: list[tuple[str, str]],
    count: int,
    only: re.Pattern[str],
    every: int = 1,
) -> list[Row]:
    """Builds the rows that are asked for, with their sound; ``voices`` are robot voices as (role,
    voice).

    ``every`` keeps only every nth utterance of each row.
    """
    draws, texts, denials = max(1, count // 20), sentences(language, count), refusals(language)
    found: list[Row] = []

    def add(
        title: str,
        samples: Callable[[], Iterable[Sample]],
        counted: Counted = "right",
        rule: str = "utterance",
        pool: str | None = None,
    ) -> None:
        if only.search(title) or only.search(pool or ""):
            print(f"getting ready: {title}", file=sys.stderr, flush=True)
            if heard := list(samples())[::every]:
                found.append(Row(title, heard, counted, rule, pool))

    def people(kind: str, most: int | None, rule: str) -> list[Sample]:
        """Builds a row of what people said; only a sentence of the grammar can be right."""
        said = recordings(data, kind, most)
        return [each for each in said if meaning(language, rule, each.text) is not None]

    if language.wording.language == ENGLISH:
        digits = partial(_some, data, _DIGITS, 5 * count)
        add(
            "real people, connected numbers",
            lambda: people("numbers", count, "number"),
            rule="number",
        )
        add("real people, digits", digits)
        add("real people, yes no stop left right", partial(_some, data, _ANSWERS, 5 * count))
        for kind in ("other_speech", "other_words"):
            title = f"{kind.replace('_', ' ')} (none is right)"
            add(title, partial(recordings, data, kind, count), "accepted")
        refused = (s for s in recordings(data, "words") if s.text in denials)
        several = (replace(sample, draw=draw) for sample in refused for draw in range(draws))
        add("refusals, real people", lambda: several, "assent", pool=REFUSALS)
        sides = partial(_some, data, ("left", "right"), 5 * count)
        add("left and right heard as yes, real people", sides, "assent")
    for each in natural:
        name = f"{each.voice} (natural, {each.role})"
        # The clips may be older than the grammar: texts that are no longer sentences are left out.
        fixed = [s for s in each.of("command", "answer") if language.parse(s.text) is not None]
        add(f"commands and answers, {name}", partial(list, fixed))
        drawn = [s for s in each.of("reading", "sentence") if language.parse(s.text) is not None]
        add(f"readings and sentences, {name}", partial(list, drawn))
        add(f"chat, {name}", partial(each.of, "chat"), "accepted")
        no = [replace(s, draw=d) for s in each.of("command") if s.text in denials for d in range(9)]
        add(f"refusals, {name}", partial(list, no), "assent", pool=REFUSALS)
    for role, voice in voices:
        name = f"{voice} (robot, {role})"
        add(f"readings and sentences, {name}", partial(read_aloud, voice, texts))
        add(f"chat, {name}", partial(read_aloud, voice, CHAT[:count]), "accepted")
        saying = partial(read_aloud, voice, denials, draws)
        add(f"refusals, {name}", saying, "assent", pool=REFUSALS)
    return found


def _some(data: Path, texts: tuple[str, ...], count: int) -> list[Sample]:
    """Draws about ``count`` recordings of people who say these single words, evenly."""
    said = [sample for sample in recordings(data, "words") if sample.text in texts]
    return said[:: max(1, len(said) // count)]


def meaning(language: Language, rule: str, text: str) -> object:
    """Returns the meaning of a text, None without a sentence of the rule. Zero is a meaning."""
    if rule == "number":
        value = language.number(text)
        return None if value is None else ("number", value)
    return language.parse(text)


def measure(
    row: Row,
    hear: Hears,
    language: Language,
    noise: list[Sound],
    lost: list[str],
    levels_db: tuple[float | None, ...] = LEVELS_DB,
) -> Cells:
    """Measures the cells of one row, by level; adds what was missed in quiet to ``lost``."""
    cells = {level_name(level): Cell() for level in levels_db}
    for sample in row.samples:
        said = meaning(language, row.rule, sample.text)
        for level in levels_db:
            text = hear(in_noise(sample, level, noise))
            heard = meaning(language, row.rule, text)
            if level is None and heard != said:
                lost.append(f"{sample.text} > {text}")
            kinds = (getattr(said, "kind", None), getattr(heard, "kind", None))
            not_yes = kinds[0] == "negative" or sample.text in ("left", "right")
            cells[level_name(level)] += Cell(
                count=1,
                right=heard is not None and heard == said,
                accepted=heard is not None,
                assent=not_yes and kinds[1] == "affirm",
            )
    return cells


def listeners(
    names: list[str], yardstick: bool, language: Language, scratch: Path
) -> list[Listener]:
    """Opens the models by folder or 'shipped', and the yardstick if asked for."""
    found: list[Listener] = []
    for name in names:
        model = SpeechModel.load(None if name == "shipped" else name, language.wording.language)
        number, automaton = model, language.automaton("number")
        if model.kind == "static":
            folder = with_grammar(model.folder, automaton, scratch / f"number-{len(found)}")
            number = SpeechModel.load(folder)
        by_rule = {
            "utterance": VoskRecognizer(model, language.automaton(), language.parse),
            "number": VoskRecognizer(number, automaton),
        }
        hears = {rule: _text_of(recognizer) for rule, recognizer in by_rule.items()}
        found.append(Listener(name, hears, by_rule["utterance"]))
    if yardstick:
        ears: dict[str, Hears] = {
            rule: PocketSphinx(language.automaton(rule), scratch).text for rule in RULES
        }
        found.append(Listener("pocketsphinx", ears))
    return found


def with_grammar(folder: Path, automaton: Automaton, into: Path) -> Path:
    """Copies a model folder and gives the copy the graph of another grammar."""
    shutil.copytree(folder, into)
    compile_graph(automaton, read_lexicon(folder / "lexicon.txt")).write(into / "graph")
    return into


def levels_of(given: str) -> tuple[float | None, ...]:
    """Levels in dB, None for quiet, from 'quiet,10,5'."""
    return tuple(None if each == "quiet" else float(each) for each in given.split(","))


def _text_of(recognizer: VoskRecognizer) -> Hears:
    return lambda samples: recognizer.recognize(samples).text


def table(
    listener: Listener,
    given: Iterable[Row],
    language: Language,
    noise: list[Sound],
    *,
    named: bool,
    levels_db: tuple[float | None, ...] = LEVELS_DB,
) -> dict[str, object]:
    """Prints the rows of one listener as they are finished; returns them for JSON.

    ``named`` adds what was missed in quiet, and what it was taken for.
    """
    print(f"\n{listener.name}\n{'':54}" + "".join(f"{level_name(v):>20}" for v in levels_db))
    found: dict[str, object] = {}
    pools: dict[str, tuple[Counted, list[Cells]]] = {}

    def show(title: str, counted: Counted, cells: Cells) -> None:
        shown = "".join(f"{cell.shown(counted):>20}" for cell in cells.values())
        print(f"{title:54}{shown}", flush=True)
        by_level = {level: cell.as_json(counted) for level, cell in cells.items()}
        found[title] = {"counted": counted, "levels": by_level}

    for row in given:
        lost: list[str] = []
        cells = measure(row, listener.hears[row.rule], language, noise, lost, levels_db)
        show(row.title, row.counted, cells)
        if named and row.counted == "right" and lost:
            print(f"    lost in quiet: {'; '.join(lost)}", flush=True)
        if row.pool:
            pools.setdefault(row.pool, (row.counted, []))[1].append(cells)
    for title, (counted, parts) in pools.items():
        total = {level: sum((part[level] for part in parts), Cell()) for level in parts[0]}
        show(title, counted, total)
    return found


def costs(
    listener: Listener, sounds: list[NDArray[np.int16]], scratch: Path
) -> dict[str, float | int]:
    """Prints and returns the costs of recognition."""
    found = hearing_costs.decoding(listener.hears["utterance"], sounds)
    if listener.recognizer is not None:
        folder = listener.recognizer.model.folder
        found |= hearing_costs.process_costs(folder, sounds[0], scratch)
    print(hearing_costs.shown(found), flush=True)
    return found


def usable_voices(role: str) -> list[tuple[str, str]]:
    """Lists the installed voices of a role, or of all roles; names the missing ones."""
    found = []
    for each in VOICES if role == "all" else (role,):
        for voice in VOICES[each]:
            if why := why_missing(voice):
                print(f"skipped {voice} ({each}): {why}", flush=True)
            else:
                found.append((each, voice))
    return found


def main() -> None:
    """Prints the table, and writes JSON if asked to."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("--model", action="append", default=[], help="a model folder, or 'shipped'")
    parser.add_argument("--count", type=int, default=100, help="utterances in each row")
    parser.add_argument("--every", type=int, default=1, help="use every Nth utterance of each row")
    parser.add_argument("--voices", choices=[*VOICES, "all"], default="held-out")
    parser.add_argument("--clips", type=Path, default=CLIPS, help="folder of natural_clips.py")
    parser.add_argument("--language", default=ENGLISH)
    parser.add_argument("--words", action="store_true", help="name what is missed in quiet")
    parser.add_argument(
        "--only", default="", help="only rows whose title matches this regular expression"
    )
    parser.add_argument("--data", type=Path, default=DATA, help="folder of recordings")
    parser.add_argument(
        "--levels", type=levels_of, default=LEVELS_DB, help="levels, such as quiet,10,5"
    )
    parser.add_argument("--yardstick", action="store_true", help="add pocketsphinx")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    if not (options.data / "manifest.csv").is_file():
        sys.exit(f"no recordings at {options.data}: name their folder in HANDSFREE_SPEECH_DATA")
    began_s, only = time.monotonic(), re.compile(options.only)
    language = Language.load(language=options.language)
    noise, english = noises(options.data), options.language == ENGLISH
    voices = usable_voices(options.voices) if english else []
    natural = []
    if options.clips and (options.clips / "manifest.csv").is_file():
        natural = natural_clips(options.clips, options.voices, options.language)
    else:
        print("skipped natural voices: name the folder of natural_clips.py in --clips", flush=True)
    every = options.every
    wanted = rows(language, options.data, natural, voices, options.count, only, every)
    read = []
    if english and only.search(WORD_STARTS) and why_missing(word_starts.VOICE) is None:
        read = word_starts.timed(sentences(language, min(TIMED_COUNT, options.count)))
    sounds = []
    if only.search(COSTS) and voices:
        said = read_aloud(voices[0][1], sentences(language, options.count))
        sounds = [in_noise(sample, 20.0, noise) for sample in said]
    out: dict[str, object] = circumstances() | {"count": options.count, "voices": voices}
    with tempfile.TemporaryDirectory() as name:
        scratch = Path(name)
        models: dict[str, object] = {}
        for each in listeners(options.model or ["shipped"], options.yardstick, language, scratch):
            found: dict[str, object] = {
                "rows": table(
                    *(each, wanted, language, noise),
                    named=options.words,
                    levels_db=options.levels,
                )
            }
            if read and each.recognizer is not None:
                starts = word_starts.word_starts(each.recognizer, read, noise)
                found[WORD_STARTS] = starts
                print(word_starts.shown(starts), flush=True)
            if sounds:
                found[COSTS] = costs(each, sounds, scratch)
            models[each.name] = found
    out |= {"models": models, "seconds": round(time.monotonic() - began_s)}
    if options.json:
        options.json.write_text(json.dumps(out, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
