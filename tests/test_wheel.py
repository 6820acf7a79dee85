"""The content of the wheel, and its metadata."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
import zipfile
from email.message import Message
from email.parser import Parser
from pathlib import Path, PurePosixPath

import pytest

pytest.importorskip("hatchling", reason="hatchling, which builds the wheel, is not installed")

ROOT = Path(__file__).parents[1]
SOUND = {".flac", ".wav", ".mp3", ".ogg", ".opus", ".m4a", ".aiff"}
CODE_AND_DATA = {
    *(".py", ".typed", ".toml", ".jsgf", ".html", ".css", ".js", ".typ", ".md", ".txt"),
    *(".conf", ".fst", ".int", ".mdl", ".npz", ".json", ".svg", ".webmanifest"),
}


pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> zipfile.ZipFile:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (file,) = folder.glob("*.whl")
    return zipfile.ZipFile(file)


@pytest.fixture(scope="module")
def metadata(wheel) -> Message:
    (name,) = (each for each in wheel.namelist() if each.endswith(".dist-info/METADATA"))
    return Parser().parsestr(wheel.read(name).decode("utf-8"))


def files(wheel: zipfile.ZipFile) -> list[PurePosixPath]:
    paths = [PurePosixPath(name) for name in wheel.namelist()]
    return [path for path in paths if path.parts[0] == "handsfree"]


def test_the_sound_of_the_demo_is_the_only_sound(wheel):
    sounds = [str(path) for path in files(wheel) if path.suffix in SOUND]
    assert sounds == ["handsfree/_data/audio_fixtures/harbour-hall.flac"]


def test_nothing_else_is_in_it_than_code_data_and_that_sound(wheel):
    others = [path for path in files(wheel) if path.suffix not in CODE_AND_DATA | SOUND]
    assert not others


def test_neither_tests_nor_docs_are_in_it(wheel):
    tops = {PurePosixPath(name).parts[0] for name in wheel.namelist()}
    assert len(tops) == 2 and "handsfree" in tops  # the other is the dist-info


@pytest.mark.parametrize(
    "wanted",
    [
        "py.typed",
        "checks/limits/a156.19.toml",
        "recognition/model/am/final.mdl",
        "recognition/model-es/graph/HCLG.fst",
        "reports/templates/record.typ",
        "timing/onset_net.npz",
        "_data/grammars/en/handsfree.jsgf",
        "_data/grammars/es/wording.toml",
        "_data/audio_fixtures/harbour-hall.job.toml",
    ],
)
def test_what_a_visit_needs_is_in_it(wheel, wanted):
    assert PurePosixPath("handsfree") / wanted in files(wheel)


def test_its_python_versions_are_those_of_the_page(metadata):
    page = (ROOT / "docs" / "platforms.md").read_text(encoding="utf-8")
    head = next(line for line in page.splitlines() if line.startswith("| platform | target"))
    named = re.findall(r"3\.\d+", head)
    told = [
        each.rpartition(" ")[2]
        for each in metadata.get_all("Classifier")
        if re.search(r":: 3\.\d+$", each)
    ]
    assert told == named
    assert metadata["Requires-Python"] == f">={named[0]}"


def test_it_can_be_found_and_names_no_host(metadata):
    assert metadata["Summary"] and metadata["Keywords"]
    assert metadata["License-Expression"] == "Apache-2.0"
    assert metadata.get_all("Project-URL") is None and metadata["Home-page"] is None


def test_its_version_is_that_of_the_package(metadata):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    from handsfree import __version__

    assert metadata["Version"] == __version__
    assert metadata["Name"] == project["name"]
