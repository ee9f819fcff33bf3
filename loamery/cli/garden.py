"""``loamery init``, and reading a garden with the units a person asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.show import console, literal, print_json

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.garden.model import Garden


def run_init(folder: Path, json: bool) -> None:
    """Write the starter garden and say what to do next."""
    from loamery.garden.starter import write_starter

    write_starter(folder)
    files = sorted(path.name for path in folder.iterdir())
    if json:
        print_json({"format": "loamery init 1", "folder": str(folder), "files": files})
        return
    out = console()
    out.print(f"A starter garden is in [bold]{literal(folder)}[/]: {', '.join(files)}")
    out.print(f"Edit the files, then run:  loamery season {literal(folder)}")


def open_garden(folder: Path, units: UnitSystem | None) -> Garden:
    """Return the garden of a folder, shown in the units asked for.

    Raises
    ------
    LoameryError : the folder does not hold a garden.
    """
    from loamery.garden.folder import read_garden

    garden = read_garden(folder)
    if units is None:
        return garden
    return garden.model_copy(update={"info": garden.info.model_copy(update={"units": units.value})})
