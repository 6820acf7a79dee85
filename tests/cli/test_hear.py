from __future__ import annotations

import itertools
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.cli.hear import LONGEST_S
from handsfree.data import data_folder


@pytest.fixture
def reading(tmp_path: Path) -> Path:
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    file = tmp_path / "reading.wav"
    text = "left leaf opening time six point two seconds"
    subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", file], check=True)
    return file


@pytest.mark.slow
def test_a_reading_is_one_json_line(reading: Path) -> None:
    result = CliRunner().invoke(main, ["hear", str(reading), "--json"])
    heard = json.loads(result.stdout)
    assert result.exit_code == 0
    assert list(heard) == ["file", "text", "meaning", "words", "seconds"]
    assert heard["file"] == str(reading)
    assert heard["meaning"] == {
        "kind": "reading",
        "subject": "left leaf",
        "quantity": "opening_time",
        "value": "6.2",
        "unit": "s",
    }
    assert [word["word"] for word in heard["words"]] == heard["text"].split()
    assert 0 <= heard["words"][0]["start"] < heard["words"][-1]["end"] <= heard["seconds"]


@pytest.mark.slow
def test_a_bad_file_is_named_after_the_good_ones(reading: Path, tmp_path: Path) -> None:
    missing = tmp_path / "none.wav"
    result = CliRunner().invoke(main, ["hear", str(missing), str(reading), "--json"])
    assert result.exit_code == 2
    assert json.loads(result.stdout)["file"] == str(reading)
    assert result.stderr == f"handsfree: {missing}: no such sound file (check the name)\n"


@pytest.mark.slow
def test_the_table_says_what_was_not_understood(reading: Path, tmp_path: Path) -> None:
    chatter = tmp_path / "chatter.wav"
    text = "the cafeteria downstairs has wonderful pancakes"
    subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", chatter], check=True)
    result = CliRunner().invoke(main, ["hear", str(chatter)], env={"COLUMNS": "200"})
    assert result.exit_code == 0
    assert "[unk]" in result.stdout and "not understood" in result.stdout


def heard_in(*files: Path) -> list[dict[str, Any]]:
    result = CliRunner().invoke(main, ["hear", "--json", *map(str, files)])
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


@pytest.mark.slow
def test_a_long_file_is_read_in_blocks_and_gives_what_its_pieces_read_whole_give(
    tmp_path: Path,
) -> None:
    visit, rate = soundfile.read(data_folder("audio_fixtures") / "harbour-hall.flac", dtype="int16")
    minutes = visit[: round(75 * rate)]
    soundfile.write(tmp_path / "long.flac", minutes, rate)
    by_blocks = heard_in(tmp_path / "long.flac")
    starts, ends = ([each["start"] for each in by_blocks], [])
    for nth, each in enumerate(by_blocks):
        ends.append(each["start"] + each["seconds"])
        assert all(each["start"] <= w["start"] <= w["end"] <= ends[-1] for w in each["words"])
        piece = minutes[round(each["start"] * rate) : round(ends[-1] * rate)]
        soundfile.write(tmp_path / f"{nth:03}.flac", piece, rate)
    whole = heard_in(*sorted(tmp_path.glob("0*.flac")))
    assert len(by_blocks) > 15 and any(each["meaning"] for each in by_blocks)
    assert [each["text"] for each in whole] == [each["text"] for each in by_blocks]
    assert [each["meaning"] for each in whole] == [each["meaning"] for each in by_blocks]
    assert all("start" not in each for each in whole)
    assert all(end <= start + 0.01 for end, start in zip(ends, starts[1:], strict=False))
    assert all(one <= other for one, other in itertools.pairwise(starts))


@pytest.mark.slow
def test_a_short_file_is_one_utterance_whatever_pauses_it_has(
    reading: Path, tmp_path: Path
) -> None:
    sound, rate = soundfile.read(reading, dtype="int16")
    twice = np.concatenate((sound, np.zeros(2 * rate, np.int16), sound))
    soundfile.write(tmp_path / "short.wav", twice, rate)
    missing = round((LONGEST_S + 1) * rate) - len(twice)
    soundfile.write(
        tmp_path / "long.wav", np.concatenate((twice, np.zeros(missing, np.int16))), rate
    )
    short = heard_in(tmp_path / "short.wav")
    long = heard_in(tmp_path / "long.wav")
    once = heard_in(reading)
    assert len(short) == 1 and len(short[0]["words"]) == 2 * len(once[0]["words"])
    assert [each["meaning"] for each in long] == [once[0]["meaning"]] * 2


@pytest.mark.slow
def test_a_long_file_in_which_nobody_speaks_has_one_line(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).normal(0, 12, 16_000 * 130).astype(np.int16)
    soundfile.write(tmp_path / "room.flac", noise, 16_000)
    (only,) = heard_in(tmp_path / "room.flac")
    assert (only["text"], only["meaning"], only["seconds"]) == ("", None, 130.0)
    table = CliRunner().invoke(main, ["hear", str(tmp_path / "room.flac")]).stdout
    assert "(nothing)" in table and "From" in table
