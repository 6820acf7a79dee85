"""A written job file reads back as the same sheet, whatever is known about the door."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.errors import JobError
from handsfree.job.door_feature import FEATURES
from handsfree.job.feature_values import with_opening_feature
from handsfree.job_file.features import LEAF_FEATURES, OPENING_FEATURES
from handsfree.job_file.loader import load_sheet, parse_sheet
from handsfree.job_file.writer import job_text, toml_text

ROOT = Path(__file__).parents[2]
# Every character that a file in UTF-8 can hold, control characters and quotes among them.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
NAMES = TEXTS.filter(lambda text: bool(text.strip()))


def features(of: tuple[str, ...]) -> st.SearchStrategy[dict[str, Any]]:
    def value(name: str) -> st.SearchStrategy[Any]:
        feature = FEATURES[name]
        if feature.yes_or_no:
            return st.booleans()
        return st.sampled_from([each.replace("_", " ") for each in feature.values])

    names = [name for name in of if name not in ("seen_from", "swing")]
    return st.fixed_dictionaries({}, optional={name: value(name) for name in names})


LEAF = st.fixed_dictionaries(
    {},
    optional={
        "width": st.sampled_from(["36 in", "914 mm", "35.75 in"]),
        "weight": st.sampled_from(["150 lb", "68.5 kg"]),
        "weight_source": st.sampled_from(["label", "scale", "estimate"]),
        "backcheck_angle_deg": st.integers(60, 85),
    },
)


@st.composite
def job_files(draw: st.DrawFn) -> str:
    job = {key: draw(TEXTS) for key in ("site", "technician", "note", "procedure")}
    opening = {"name": draw(NAMES), "seen_from": draw(NAMES)} | draw(features(OPENING_FEATURES))
    swing = draw(st.sampled_from([None, "single", "same way", "double egress"]))
    if swing is not None:
        opening["swing"] = swing
    sides = {"single": ["right"], None: []}.get(swing, ["left", "right"])
    leaves = [{"name": side} | draw(LEAF) | draw(features(LEAF_FEATURES)) for side in sides]
    tables = [("[job]", job), ("[opening]", opening), *(("[[leaf]]", leaf) for leaf in leaves)]
    return "\n".join(
        f"{header}\n" + "".join(f"{key} = {written(value)}\n" for key, value in table.items())
        for header, table in tables
    )


def written(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return toml_text(value) if isinstance(value, str) else str(value)


@pytest.mark.slow
@given(job_files())
def test_what_is_written_reads_back_as_the_same_sheet(text):
    try:
        sheet = parse_sheet(text, "drawn.toml")
    except JobError:
        return  # an arm that contradicts its side
    assert parse_sheet(job_text(sheet, "from here\nname = 1"), "written.toml") == sheet


@given(TEXTS)
def test_a_text_in_quotes_is_toml(text):
    assert tomllib.loads(f"a = {toml_text(text)}") == {"a": text}


@pytest.mark.parametrize("folder", ["audio_fixtures", "docs/examples"])
def test_the_shipped_jobs_read_back(folder):
    sheet = load_sheet(ROOT / folder / "harbour-hall.job.toml", ["a156.19"])
    assert parse_sheet(job_text(sheet), "written.toml") == sheet
    assert sheet.procedure == "controller-replaced-pair"


PARTS = """[opening]
name = "glass door"
[[leaf]]
name = "left"
width = "36 in"
[[leaf.part]]
name = "rail"
near_edge = "0 in"
width = "36 in"
height = "10 in"
areal_weight = "4.5 lb/ft2"
[[leaf.part]]
name = "lock"
near_edge = "33 in"
width = "2.5 in"
weight = "9 lb"
"""
STEEL = """[opening]
name = "steel door"
[[leaf]]
name = "left"
[leaf.construction]
kind = "hollow metal"
core = "honeycomb"
gauge = 18
"""


@pytest.mark.parametrize("text", [PARTS, STEEL])
def test_parts_and_construction_read_back(text):
    sheet = parse_sheet(text, "made.toml")
    assert parse_sheet(job_text(sheet), "written.toml") == sheet


def test_what_a_technician_did_not_know_is_asked_again():
    sheet = parse_sheet('[opening]\nname = "a"\nlock = "latch"\n', "a.toml")
    unsure = with_opening_feature(sheet.opening, "fire_rated", "unknown")
    again = parse_sheet(job_text(sheet.model_copy(update={"opening": unsure})), "a.toml")
    assert "fire_rated" in again.opening.not_known
    assert "lock" not in again.opening.not_known


@pytest.mark.parametrize("day", ["2026-12-01", '"2026-12-01"'])
def test_a_day_is_a_day_of_toml_or_a_text(day):
    sheet = parse_sheet(f'[job]\ndate = {day}\n[opening]\nname = "a"\n', "a.toml")
    assert sheet.date == "2026-12-01"


@pytest.mark.parametrize("day", ['"tomorrow"', "2026", "2026-12-01T08:00:00", '"2026-13-01"', '""'])
def test_another_day_is_named_with_its_line(day):
    with pytest.raises(JobError, match=r"line 2: 'date' is not a day"):
        parse_sheet(f'[job]\ndate = {day}\n[opening]\nname = "a"\n', "a.toml")


def test_a_procedure_beside_the_job_file_is_named_by_its_whole_path(tmp_path):
    (tmp_path / "own.toml").write_text("", encoding="utf-8")
    job = tmp_path / "a.job.toml"
    job.write_text('[job]\nprocedure = "own.toml"\n[opening]\nname = "a"\n', encoding="utf-8")
    assert load_sheet(job, ["a156.19"]).procedure == str((tmp_path / "own.toml").resolve())
