"""A commented starter folder, ready to plan from and to edit."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree

from loamery.saving import save_folder


def write_starter(folder: Path) -> Path:
    """Write the starter garden into a new folder and return its path.

    Raises
    ------
    InputError : the folder already holds something.
    """
    return save_folder(folder, lambda target: _copy("loamery.garden", "starter", target))


def write_demo(folder: Path, *, seasons: bool = False) -> Path:
    """Write the invented demo garden into a new folder and return its path.

    Parameters
    ----------
    seasons : with three seasons of invented records of what was done.

    Raises
    ------
    InputError : the folder already holds something.
    """
    return save_folder(folder, lambda target: _demo(target, seasons))


def _demo(target: Path, seasons: bool) -> None:
    _copy("loamery.demo", "garden", target)
    if seasons:
        _copy("loamery.demo", "seasons", target)


def _copy(package: str, name: str, target: Path) -> None:
    with as_file(files(package).joinpath(name)) as source:
        copytree(source, target, dirs_exist_ok=True)
    if name == "starter":
        (target / "reports").mkdir(exist_ok=True)
