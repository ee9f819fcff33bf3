"""Writing without half-written files: everything goes to a temporary neighbour first and is then renamed."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from loamery.errors import InputError, Where
from loamery.say import say


def save_text(path: Path, text: str) -> Path:
    """Write a UTF-8 text file whole or not at all, and return its path."""
    return save_bytes(path, text.encode("utf-8"))


def save_bytes(path: Path, content: bytes) -> Path:
    """Write a file whole or not at all, and return its path.

    Raises
    ------
    InputError : the place cannot be written to.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise _cannot_write(path, error) from None
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except OSError as error:
        Path(temporary).unlink(missing_ok=True)
        raise _cannot_write(path, error) from None
    return path


def save_folder(folder: Path, fill: Callable[[Path], None]) -> Path:
    """Make a new folder whole or not at all.

    Parameters
    ----------
    folder : must not exist yet, or be empty.
    fill : writes the content into the (temporary) folder it is given.

    Raises
    ------
    InputError : the folder already holds something, or cannot be made.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(
            say("it already holds something"),
            where=Where(file=str(folder)),
            expected=say("a folder that does not exist yet, or an empty one"),
            remedy=say("name another folder; nothing was changed"),
        )
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    except OSError as error:
        raise _cannot_write(folder, error) from None
    try:
        fill(temporary)
        temporary.chmod(0o755)
        if folder.exists():
            folder.rmdir()
        temporary.replace(folder)
    except OSError as error:
        raise _cannot_write(folder, error) from None
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    return folder


def _cannot_write(path: Path, error: OSError) -> InputError:
    return InputError(
        say("cannot be written ({failure})", failure=error.strerror or error),
        where=Where(file=str(path)),
        expected=say("a place this account may write to"),
        remedy=say("name another folder; nothing was changed"),
    )
