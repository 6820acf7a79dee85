"""The model card of a speech model: license, training data, recognition scores.

A model folder may have a ``model.toml``; the shipped one shows every key.
"""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import Field, ValidationError, model_validator

from handsfree.errors import ModelError
from handsfree.job.record import Record
from handsfree.language.wording import ENGLISH
from handsfree.toml_source import TomlSource

FILE = "model.toml"

# A component's trained values in Kaldi's binary nnet3 files: the name, then a matrix or vector of
# floats (F), doubles (D) or compressed numbers (C).
_VALUES = re.compile(
    rb"<(?:LinearParams|BiasParams|Params|Bias|Scales)> (?:([FD])M |CM([23]?) |([FD])V )"
)


class Score(Record):
    """Number of utterances understood ``right`` and ``wrong`` out of ``count``.

    The others were not understood. ``noise`` is 'quiet' or a signal-to-noise ratio such as '10 dB'.
    """

    material: str
    noise: str
    right: int = Field(ge=0)
    wrong: int = Field(ge=0)
    count: int = Field(gt=0)

    @model_validator(mode="after")
    def _adds_up(self) -> Score:
        if self.right + self.wrong > self.count:
            raise ValueError("right and wrong together exceed count")
        return self


class ModelCard(Record):
    """The model card, as model.toml states it."""

    name: str
    status: str
    licence: str
    language: str = ENGLISH
    attribution: tuple[str, ...] = ()
    trained_on: tuple[str, ...] = ()
    note: str = ""
    scores: tuple[Score, ...] = ()


def read_model_card(folder: Path) -> ModelCard | None:
    """Reads the model card of a folder, or None if it has none. Raises ModelError."""
    path = folder / FILE
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise ModelError("the model card cannot be read", file=path) from error
    source = TomlSource(text, path, ModelError)
    try:
        return ModelCard.model_validate(source.data)
    except ValidationError as error:
        raise source.refused(error) from error


def count_parameters(acoustic: Path) -> int | None:
    """Counts the trained values of an acoustic model; None if its format is unknown.

    Source: Kaldi's nnet3 components and matrix files (binary).
    """
    content = acoustic.read_bytes()
    total = 0
    for found in _VALUES.finditer(content):
        at = found.end()
        if found[3]:  # a vector: its length
            total += _integers(content, at + 1, 1)[0]
        elif found[1]:  # a matrix: rows and columns, a byte of size before each
            total += _integers(content, at + 1, 1)[0] * _integers(content, at + 6, 1)[0]
        else:  # a compressed matrix: two floats, then rows and columns
            rows, columns = _integers(content, at + 8, 2)
            total += rows * columns
    return total or None


def _integers(content: bytes, at: int, count: int) -> list[int]:
    fields = (content[at + 4 * index : at + 4 * index + 4] for index in range(count))
    return [int.from_bytes(field, "little") for field in fields]
