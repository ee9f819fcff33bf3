"""What was asked of the background work and is not done yet: kept beside the result, so that a restart takes it up again."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from loamery.saving import save_text
from loamery.say import say

FILE = "asked.json"
MOST_TRIES = 2
"""So often work is begun by itself; what fails so often would fail again."""


def gave_up(tries: int) -> str:
    """Return what is said of work that was cut off too often."""
    return say(
        "the work was cut off {tries} times, and is not begun by itself again; start it by hand, or look into log.txt beside it",
        tries=tries,
    )


@dataclass(frozen=True)
class Request:
    """One piece of work as it was asked for.

    Parameters
    ----------
    what : the plan or a question. asked : more about it. who : who asked, in words. tries : how often it was begun.
    """

    what: str
    asked: Mapping[str, Any] | None
    who: str
    at: float
    tries: int = 1


def note(folder: Path, what: str, asked: Mapping[str, Any] | None, who: str, tries: int = 1) -> None:
    """Keep what is asked for."""
    request = Request(what, dict(asked) if asked else None, who, time.time(), tries)
    save_text(folder / FILE, json.dumps(asdict(request)))


def unfinished(folder: Path) -> Request | None:
    """Return what was asked for and is not done yet, None when there is nothing or what is kept is damaged."""
    try:
        return Request(**json.loads((folder / FILE).read_bytes()))
    except (FileNotFoundError, ValueError, TypeError):
        return None


def forget(folder: Path) -> None:
    """Take down that nothing is left to do."""
    (folder / FILE).unlink(missing_ok=True)
