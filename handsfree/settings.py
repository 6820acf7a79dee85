"""The user's settings: one small TOML file, changed by commands or by hand."""

from __future__ import annotations

import json
import os
from pathlib import Path

from platformdirs import user_config_dir
from pydantic import ValidationError

from handsfree.errors import SettingsError
from handsfree.job.record import Record
from handsfree.toml_source import TomlSource, nearest

FILE_VARIABLE = "HANDSFREE_SETTINGS"


class Settings(Record):
    """What the user has chosen; a key that is not set leaves the choice to the program.

    ``model`` is the folder of the speech model.
    """

    model: Path | None = None


def settings_file() -> Path:
    """The file of HANDSFREE_SETTINGS, or the one in the user's configuration folder."""
    named = os.environ.get(FILE_VARIABLE)
    return Path(named or Path(user_config_dir("handsfree", appauthor=False)) / "settings.toml")


def load_settings() -> Settings:
    """The settings; without a file nothing is set. Raises SettingsError with line and key."""
    source = _read(settings_file())
    try:
        return Settings.model_validate(source.data)
    except ValidationError as error:
        key = str(error.errors()[0]["loc"][0])
        if key in Settings.model_fields:
            raise source.fault(
                f"'{key}' has a wrong value", key=key, way_out="give it a text in double quotes"
            ) from error
        raise source.fault(
            f"there is no setting '{key}'", key=key, way_out=nearest(key, Settings.model_fields)
        ) from error


def keep_setting(key: str, value: str | None) -> Path:
    """Writes one setting, or takes it out, and leaves every other line as it is.

    The file is replaced whole or not at all. Raises SettingsError.
    """
    file = settings_file()
    source = _read(file)
    lines = source.text.splitlines()
    if key in source.data:
        del lines[source.line(key=key) - 1]
    if value is not None:
        lines.insert(0, f"{key} = {json.dumps(value, ensure_ascii=False)}")
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


def _read(file: Path) -> TomlSource:
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        text = ""
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(
            "the settings cannot be read", file=file, way_out="save the file as UTF-8 text"
        ) from error
    return TomlSource(text, file, SettingsError)
