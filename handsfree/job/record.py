"""The base of every record: frozen, strict about unknown fields."""

from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Number = Annotated[Decimal, Field(max_digits=1000)]
"""A number of 1000 digits at most, written out in full: 1E+999999 takes a machine with it."""
Count = Annotated[int, Field(ge=0, le=10**12)]
"""How many, or which: samples of a year of sound are fewer."""


class Record(BaseModel):
    """An immutable value; a field that it does not know is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")
