"""What the fields of every record are made of: days, ids, numbers within bounds."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError


def _written_out(value: object) -> object:
    """Refuse what pydantic would take for seconds since 1970 or for a date of another order."""
    if isinstance(value, date) or (isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value.strip())):
        return value
    raise PydanticCustomError("date_form", "should be a date with year, month and day")


Day = Annotated[date, BeforeValidator(_written_out), Field(ge=date(1900, 1, 1), le=date(2199, 12, 31))]

Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$", max_length=60, description="short lower-case name")]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
Name = Annotated[str, Field(min_length=1)]


class Record(BaseModel):
    """A row of the garden folder: immutable, nothing unknown in it."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, allow_inf_nan=False)
