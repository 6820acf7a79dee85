"""The base of every record: frozen, strict about unknown fields."""

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """An immutable value; a field that it does not know is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")
