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


class Tongue(StrEnum):
    """What sheets are written in."""

    en = "en"
    fr = "fr"


GardenFolder = Annotated[Path, typer.Argument(help="garden folder, as `loamery init` writes it", metavar="GARDEN")]
Json = Annotated[bool, typer.Option("--json", help="print one JSON document and nothing else")]
Units = Annotated[UnitSystem | None, typer.Option(help="units shown; the garden's own when left out")]
Language = Annotated[
    Tongue, typer.Option(help="language of the sheets that are written; what is printed stays English")
]
Anew = Annotated[bool, typer.Option("--anew", help="plan anew, even if an earlier plan still holds")]
Form = Annotated[str, typer.Option(help="html, pdf or html,pdf")]
