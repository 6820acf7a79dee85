"""The user's settings: one small TOML file, edited by commands or by hand."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Literal

from platformdirs import user_config_dir
from pydantic import Field, ValidationError

from handsfree.errors import HandsfreeError, SettingsError
from handsfree.job.closed_lists import Confirm, SpeechLevel
from handsfree.job.record import Record
from handsfree.toml_source import TomlSource, file_bytes, nearest

FILE_VARIABLE = "HANDSFREE_SETTINGS"

KeepClips = Literal["all", "readings", "none"]

SLOWEST_WPM, USUAL_WPM, FASTEST_WPM = 100, 170, 320
"""Range and default of the speaking rate, in words per minute."""
SOFTEST, USUAL_VOLUME, LOUDEST = 0, 60, 100
"""Range and default of the volume: 60 leaves the voice unchanged, 20 more add 5 dB."""


class Settings(Record):
    """The user's choices; the program chooses if a key is not set.

    A field's description lists its values, its example shows how to write one. docs/settings.md
    explains each setting.
    """

    model: Path | None = Field(
        None, description="the whole path of a folder", examples=["/home/me/models/mine"]
    )
    second_ear: str | None = Field(
        None,
        strict=True,
        min_length=1,
        description="the whole path of a folder, or 'off'",
        examples=["/home/me/models/whisper-tiny.en"],
    )
    speech_level: SpeechLevel = Field(
        "full", description="'full', 'brief' or 'silent'", examples=["brief"]
    )
    confirm: Confirm = Field("doubtful", description="'doubtful' or 'every'", examples=["every"])
    tones: bool = Field(True, strict=True, description="true or false", examples=[False])
    speech_rate: int = Field(
        USUAL_WPM,
        strict=True,
        ge=SLOWEST_WPM,
        le=FASTEST_WPM,
        description=f"a whole number from {SLOWEST_WPM} to {FASTEST_WPM}",
        examples=[145],
    )
    speech_volume: int = Field(
        USUAL_VOLUME,
        strict=True,
        ge=SOFTEST,
        le=LOUDEST,
        description=f"a whole number from {SOFTEST} to {LOUDEST}",
        examples=[80],
    )
    microphone: str | None = Field(
        None, description="the name of a microphone, or a part of it", examples=["USB headset"]
    )
    loudspeaker: str | None = Field(
        None, description="the name of a loudspeaker, or a part of it", examples=["USB headset"]
    )
    headset: bool = Field(False, strict=True, description="true or false", examples=[True])
    push_to_talk: bool = Field(False, strict=True, description="true or false", examples=[True])
    button: str | None = Field(
        None, description="an input device of the system", examples=["/dev/input/event7"]
    )
    endpoint_ms: int = Field(
        350,
        strict=True,
        ge=200,
        le=2000,
        description="a whole number from 200 to 2000",
        examples=[500],
    )
    tail_ms: int = Field(
        250,
        strict=True,
        ge=0,
        le=2000,
        description="a whole number from 0 to 2000",
        examples=[400],
    )
    keep_clips: KeepClips = Field(
        "all", description="'all', 'readings' or 'none'", examples=["readings"]
    )
    controller_guide: str | None = Field(
        None,
        strict=True,
        min_length=1,
        description="a controller's guide, by its name or the whole path of its file",
        examples=["/home/me/guides/mine.toml"],
    )
    company: str | None = Field(
        None,
        strict=True,
        min_length=1,
        max_length=80,
        description="a name of at most 80 letters",
        examples=["Example Door Service"],
    )
    company_address: str | None = Field(
        None,
        strict=True,
        min_length=1,
        max_length=160,
        description="an address of at most 160 letters",
        examples=["1 Example Street, Anytown"],
    )
    company_logo: Path | None = Field(
        None, description="the whole path of a picture", examples=["/home/me/logo.svg"]
    )
    paper: Literal["letter", "a4"] | None = Field(
        None, description="'letter' or 'a4'", examples=["letter"]
    )


def settings_file() -> Path:
    """The file named by HANDSFREE_SETTINGS, otherwise the one in the user's configuration
    folder.
    """
    named = os.environ.get(FILE_VARIABLE)
    return Path(named or Path(user_config_dir("handsfree", appauthor=False)) / "settings.toml")


def variable(key: str) -> str:
    """The environment variable that overrides a key: HANDSFREE_SPEECH_RATE."""
    return f"HANDSFREE_{key.upper()}"


def load_settings() -> Settings:
    """Loads the settings: from the environment, otherwise the file, otherwise the defaults.

    Raises SettingsError naming the line and key, or the variable.
    """
    source = _read(settings_file())
    try:
        kept = Settings.model_validate(source.data)
    except ValidationError as error:
        key = str(error.errors()[0]["loc"][0])
        raise _fault_in(source, key) from error
    return kept.model_copy(update=_of_environment())


class Chosen(Record):
    """A current setting: its value, and whether it comes from environment, file or default."""

    key: str
    value: Path | str | int | bool | None
    origin: Literal["environment", "file", "default"]


def chosen_settings() -> tuple[Chosen, ...]:
    """Every setting with its origin. Raises SettingsError like ``load_settings``."""
    settings, named = load_settings(), _read(settings_file()).data
    there = _of_environment()
    return tuple(
        Chosen(
            key=key,
            value=getattr(settings, key),
            origin="environment" if key in there else "file" if key in named else "default",
        )
        for key in Settings.model_fields
    )


def read_value(key: str, text: str) -> str | bool | int:
    """Reads a typed value: 'false' becomes a bool, '145' an int. Raises SettingsError."""
    value = json.loads(text) if re.fullmatch(r"true|false|-?\d+", text) else text
    _check(key, value)
    return value


def _of_environment() -> dict[str, object]:
    found: dict[str, object] = {}
    for key in Settings.model_fields:
        if text := os.environ.get(variable(key)):
            try:
                value = read_value(key, text)
            except SettingsError as error:
                raise SettingsError(f"{variable(key)}: {error}") from error
            found[key] = getattr(Settings.model_validate({key: value}), key)
    return found


def keep_setting(key: str, value: str | bool | int | None) -> Path:
    """Writes one setting, or removes it (None), and leaves every other line unchanged.

    The file is replaced completely or not at all. Raises SettingsError, also for an invalid value.
    """
    file = settings_file()
    source = _read(file)
    lines = source.text.splitlines()
    if isinstance(source.data.get(key), dict):
        raise _fault_in(source, key)
    if key in source.data:
        del lines[source.line(key=key) - 1]
    if value is not None:
        _check(key, value)
        lines.insert(0, _written(key, value))
    beside = file.with_name(file.name + ".tmp")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("w", encoding="utf-8") as new:
            new.writelines(f"{line}\n" for line in lines)
            new.flush()
            os.fsync(new.fileno())
        beside.replace(file)
    except OSError as error:
        raise SettingsError(
            f"the settings cannot be written: {error.strerror}",
            file=file,
            way_out=f"name a file that can be written in {FILE_VARIABLE}",
        ) from error
    return file


def _check(key: str, value: str | bool | int) -> None:
    try:
        Settings.model_validate({key: value})
    except ValidationError as error:
        message, way_out = _fault(key)
        raise SettingsError(message, way_out=way_out) from error


def _fault_in(source: TomlSource, key: str) -> HandsfreeError:
    message, way_out = _fault(key)
    table = key if isinstance(source.data[key], dict) else ""
    return source.fault(message, table, key=key, way_out=way_out)


def _fault(key: str) -> tuple[str, str]:
    """The message for a key that did not validate, and the way out."""
    field = Settings.model_fields.get(key)
    if field is None:
        return f"there is no setting '{key}'", nearest(key, Settings.model_fields)
    assert field.examples is not None
    example = _written(key, field.examples[0])
    return f"'{key}' has a wrong value: it takes {field.description}", f"write {example}"


def _written(key: str, value: str | bool | int) -> str:
    return f"{key} = {json.dumps(value, ensure_ascii=False)}"


def _read(file: Path) -> TomlSource:
    try:
        text = file_bytes(file).decode("utf-8")
    except FileNotFoundError:
        text = ""
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(
            "the settings cannot be read", file=file, way_out="save the file as UTF-8 text"
        ) from error
    return TomlSource(text, file, SettingsError)
