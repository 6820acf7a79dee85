"""Procedures made of parts: order, hash, and every fault with its file."""

from __future__ import annotations

import shutil

import pytest

from handsfree.errors import ProcedureError
from handsfree.language.wording import languages
from handsfree.procedure.loader import SHIPPED, faults_of, load_procedure

HEAD = """\
name = "small"
title = "A small visit"
include = ["parts/one.toml", "parts/two.toml"]

[[stage]]
id = "safe"
title = "make safe"

[[stage]]
id = "times"
title = "times"
"""


def step(name, stage="safe", prompt=None, brief=None):
    return f"""
[[step]]
id = "{name}"
stage = "{stage}"
prompt = "{prompt or f"Do the {name}."}"
brief = "{brief or f"The {name}."}"
waits = "done"
why = "It is safer."
"""


@pytest.fixture
def folder(tmp_path):
    """A procedure of two parts, and a way to write its files."""

    def write(name, text):
        file = tmp_path / name
        file.parent.mkdir(exist_ok=True, parents=True)
        file.write_text(text, encoding="utf-8")
        return file

    write("small.toml", HEAD + step("own", "times") + step("late"))
    write("parts/one.toml", step("ladder") + step("clock", "times"))
    write("parts/two.toml", step("power"))
    return write


def faults(tmp_path, name="small.toml"):
    return [str(fault).replace(f"{tmp_path}/", "") for fault in faults_of(tmp_path / name)]


def ids(path):
    return [step.id for step in load_procedure(path).steps]


def test_steps_are_walked_by_stage_then_parts_before_own_ones(folder, tmp_path):
    assert ids(tmp_path / "small.toml") == ["ladder", "power", "late", "clock", "own"]


def test_a_part_may_include_another(folder, tmp_path):
    folder("parts/one.toml", 'include = ["deep.toml"]\n' + step("ladder"))
    folder("parts/deep.toml", step("deep"))
    assert ids(tmp_path / "small.toml") == ["deep", "ladder", "power", "late", "own"]


@pytest.mark.parametrize("language", languages())
def test_a_copy_of_a_shipped_procedure_finds_the_shipped_parts(tmp_path, language):
    name = "controller-replaced-pair"
    copy = shutil.copy(SHIPPED / language / f"{name}.toml", tmp_path)
    shipped = load_procedure(name, language=language)
    assert load_procedure(copy, language=language).steps == shipped.steps


def test_the_hash_covers_every_part_and_not_where_they_lie(folder, tmp_path):
    before = load_procedure(tmp_path / "small.toml").sha256
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.copy(tmp_path / "small.toml", elsewhere)
    shutil.copytree(tmp_path / "parts", elsewhere / "parts")
    assert load_procedure(elsewhere / "small.toml").sha256 == before
    folder("parts/two.toml", step("power") + "# changed\n")
    assert load_procedure(tmp_path / "small.toml").sha256 != before


def test_a_fault_inside_a_part_names_the_part_and_its_line(folder, tmp_path):
    folder("parts/two.toml", step("power", prompt="Wait 3 seconds."))
    assert faults(tmp_path) == [
        "parts/two.toml, line 5: '3' in prompt cannot be spoken (write it as words)"
    ]


def test_a_circle_is_named_with_its_whole_chain(folder, tmp_path):
    folder("parts/one.toml", 'include = [\n  "three.toml",\n]\n' + step("ladder"))
    folder("parts/three.toml", 'include = ["one.toml"]\n' + step("three"))
    assert faults(tmp_path) == [
        "parts/three.toml, line 1: circular include: one.toml includes three.toml includes one.toml"
        " (remove one of them from its file's include)"
    ]


def test_a_procedure_that_includes_itself(folder, tmp_path):
    folder("parts/one.toml", 'include = ["../small.toml"]\n' + step("ladder"))
    (fault,) = faults(tmp_path)
    assert "circular include: small.toml includes one.toml includes small.toml" in fault


def test_an_id_in_two_files_names_both_places(folder, tmp_path):
    folder("parts/two.toml", "\n" + step("ladder", brief="Other.", prompt="Other."))
    (fault,) = faults(tmp_path)
    assert fault.startswith("parts/two.toml, line 4: duplicate id 'ladder', first used on")
    assert fault.endswith("parts/one.toml, line 2 (give each step its own id)")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("small.toml", HEAD.replace("one", "none"), "line 3: there is no part 'parts/none.toml'"),
        ("small.toml", HEAD.replace("two", "one"), "'parts/one.toml' is included twice, first by"),
        (
            "small.toml",
            HEAD.replace('["parts/one.toml", "parts/two.toml"]', '"parts/one.toml"'),
            "small.toml, line 3: 'include' is not a list of files",
        ),
        ("parts/two.toml", 'title = "Two"\n', "parts/two.toml, line 1: 'title' is not allowed"),
        ("parts/two.toml", "[[step]\n", "parts/two.toml, line 1: is not valid TOML"),
        (
            "parts/two.toml",
            step("power", "forces"),
            "parts/two.toml, line 4: step 'power' belongs to the stage 'forces', which small.toml"
            " does not list",
        ),
    ],
)
def test_a_wrong_part_is_named(folder, tmp_path, name, text, said):
    folder(name, text)
    assert any(said in fault for fault in faults(tmp_path))


def test_a_part_is_checked_with_its_procedure(folder, tmp_path):
    with pytest.raises(ProcedureError, match="check the procedure that includes it"):
        faults_of(tmp_path / "parts/one.toml")


def test_a_part_that_is_no_text(folder, tmp_path):
    (tmp_path / "parts/two.toml").write_bytes("ü".encode("latin-1"))
    with pytest.raises(ProcedureError, match=r"two\.toml, line 1: is not UTF-8 text"):
        load_procedure(tmp_path / "small.toml")
