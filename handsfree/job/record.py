"""The base class of every record: frozen, strict about unknown fields."""

from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Number = Annotated[Decimal, Field(max_digits=1000)]
"""A number of at most 1000 digits when written out: 1E+999999 would exhaust the memory."""
Count = Annotated[int, Field(ge=0, le=10**12)]
"""A count or an index, up to 10**12, which exceeds the samples in a year of sound."""


class Record(BaseModel):
    """An immutable value; an unknown field is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")
