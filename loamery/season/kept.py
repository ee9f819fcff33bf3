"""Plans kept between commands: what was decided, under a key made of everything it rests on, so that nothing stale is used.

Only the numbers of the decision are kept, as JSON in the user's own cache folder. Reports are read and the plan is told anew
each time; what is saved is the search. A file that cannot be read, or does not fit, is as good as none.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields
from datetime import datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from loamery.errors import LoameryError
from loamery.garden.model import Garden
from loamery.saving import save_text
from loamery.season.decision import Solution
from loamery.season.make import Solved, solve_prepared
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared, prepare

Progress = Callable[[str], None]
FORMAT = "loamery kept plan 1"
MOST_KEPT = 20
"""Plans kept at a time; the oldest go first."""


@dataclass(frozen=True, eq=False)
class KeptPlan:
    """A plan with what it was computed from, and when it was made; `before` says that an earlier command made it."""

    solved: Solved
    made: datetime
    before: bool

    @property
    def plan(self) -> SeasonPlan:
        """Return the plan."""
        return self.solved.plan

    @property
    def words(self) -> str:
        """Return in a sentence which plan this is."""
        when = f"{self.made:%Y-%m-%d %H:%M}"
        if self.before:
            return f"The plan of {when}; nothing it rests on has changed since. --anew makes another."
        return f"Planned now, {when}."


def plan_kept(garden: Garden, progress: Progress = lambda _: None, *, anew: bool = False) -> KeptPlan:
    """Return the season plan of a garden, that of an earlier command where nothing it rests on has changed.

    Parameters
    ----------
    garden : as read from its folder, which must not have changed since.
    anew : plan again in any case.

    Raises
    ------
    InputError, NoPlan : as `plan_season`.
    """
    return prepared_kept(prepare(garden, progress), progress, anew=anew)


def prepared_kept(prepared: Prepared, progress: Progress = lambda _: None, *, anew: bool = False) -> KeptPlan:
    """Return the season plan of a garden whose reports have just been read; see `plan_kept`."""
    path = kept_folder() / f"{plan_key(prepared.garden)}.json"
    known = None if anew else _read(path)
    solved = solve_prepared(prepared, progress, known=known[1] if known else None)
    if known:
        return KeptPlan(solved, known[0], before=True)
    made = datetime.now().astimezone()
    # a cache that cannot be written to costs time, not the plan
    with suppress(LoameryError, OSError):
        _write(path, solved.solution, made)
    return KeptPlan(solved, made, before=False)


def kept_folder() -> Path:
    """Return the folder of kept plans, in the cache of the user who runs this."""
    import platformdirs

    return platformdirs.user_cache_path("loamery", appauthor=False) / "plans"


def plan_key(garden: Garden) -> str:
    """Return the key of a garden's plan: a digest of its files, its laboratory reports, and of this version's code and data."""
    whole = sha256(_of_this_version().encode())
    folder = Path(garden.folder)
    own = {one.name for one in folder.glob("*") if one.suffix in (".csv", ".toml")}
    for name in sorted(own | {one.file for one in garden.reports}):
        whole.update(f"\n{name}\n".encode())
        path = folder / name
        whole.update(sha256(path.read_bytes()).digest() if path.is_file() else b"absent")
    return whole.hexdigest()


@cache
def _of_this_version() -> str:
    import loamery

    whole = sha256(loamery.__version__.encode())
    root = Path(loamery.__file__).parent
    for path in sorted(one for one in root.rglob("*") if one.suffix in (".py", ".csv") and "demo" not in one.parts):
        whole.update(path.relative_to(root).as_posix().encode())
        whole.update(path.read_bytes())
    return whole.hexdigest()


def _write(path: Path, solution: Solution, made: datetime) -> None:
    document = {"format": FORMAT, "made": made.isoformat(), "solution": dict(_plain(solution))}
    save_text(path, json.dumps(document))
    known = sorted(path.parent.glob("*.json"), key=lambda one: one.stat().st_mtime, reverse=True)
    for old in known[MOST_KEPT:]:
        old.unlink(missing_ok=True)


def _plain(solution: Solution) -> Iterator[tuple[str, Any]]:
    for one in fields(Solution):
        value = getattr(solution, one.name)
        if isinstance(value, np.ndarray):
            yield one.name, {"shape": list(value.shape), "values": value.ravel().tolist()}
        else:
            yield one.name, dict(value) if isinstance(value, Mapping) else value


def _read(path: Path) -> tuple[datetime, Solution] | None:
    """Return when a plan was made and what it decided; None where there is none or it cannot be read."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        if document["format"] != FORMAT:
            return None
        kept = document["solution"]
        found = {one.name: _value(kept[one.name]) for one in fields(Solution)}
        return datetime.fromisoformat(document["made"]), Solution(**found)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _value(kept: Any) -> Any:
    if isinstance(kept, dict) and set(kept) == {"shape", "values"}:
        array = np.array(kept["values"], dtype=float).reshape(kept["shape"])
        if not np.isfinite(array).all():
            raise ValueError("not a number")
        return array
    return kept
