"""Arguments and options that several commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class UnitSystem(StrEnum):
    """What people see."""

    metric = "metric"
    us = "us"


GardenFolder = Annotated[Path, typer.Argument(help="garden folder, as `loamery init` writes it", metavar="GARDEN")]
Json = Annotated[bool, typer.Option("--json", help="print one JSON document and nothing else")]
Units = Annotated[UnitSystem | None, typer.Option(help="units shown; the garden's own when left out")]
Anew = Annotated[bool, typer.Option("--anew", help="plan anew, even if an earlier plan still holds")]
