"""What goes in and out beside the records themselves."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from pydantic import BaseModel, Field, create_model

from loamery.garden.fields import Record
from loamery.garden.model import Climate, Info
from loamery.garden.model import Garden as Snapshot
from loamery.trials.record import TrialReading, TrialRecord


class Fault(BaseModel):
    """One thing that cannot be used: what was read, where, what was expected, what to do."""

    read: str
    where: dict[str, Any] = Field(default_factory=dict)
    expected: str = ""
    remedy: str = ""


class Problem(BaseModel):
    """Why a request was not done."""

    error: str = Field(description="kind of problem, in one word")
    read: str = ""
    faults: list[Fault] = Field(default_factory=list)


class Head(BaseModel):
    """A garden without its records."""

    slug: str
    version: int = Field(description="grows with every change")
    info: Info
    climate: Climate
    counts: dict[str, int] = Field(description="how many records there are of each kind")


Everything: type[Snapshot] = create_model(
    "Everything",
    __base__=Snapshot,
    trials=(tuple[TrialRecord, ...], ()),
    trial_readings=(tuple[TrialReading, ...], ()),  # type: ignore[valid-type]
)
"""A whole garden, with the trials that stand in files of their own."""


class Kept(BaseModel):
    """Where a file was kept."""

    path: str = Field(description="path inside the garden folder, to name in a record")


class Told(BaseModel):
    """One change of the history."""

    number: int
    at: datetime
    who: str
    action: str
    kind: str
    row: int
    before: dict[str, Any] | None
    after: dict[str, Any] | None


class Changes(BaseModel):
    """Changes, newest first."""

    changes: list[Told]
    left: int = Field(description="how many older ones there are")


def row_shape(record: type[Record]) -> type[BaseModel]:
    """Return the shape of a record with the number it is kept under."""
    number = (int, Field(description="number it is kept under"))
    return create_model(f"{record.__name__}Row", row=number, record=(record, ...))


def list_shape(record: type[Record], row: type[BaseModel]) -> type[BaseModel]:
    """Return the shape of a list of records."""
    left = (int, Field(description="how many there are after these"))
    return create_model(f"{record.__name__}List", rows=(list[row], ...), left=left)  # type: ignore[valid-type]
