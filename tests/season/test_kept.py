"""Plans kept between commands: the same plan without solving, and never a stale one."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.garden import read_garden
from loamery.garden.starter import write_starter
from loamery.season import kept as kept_module
from loamery.season import make
from loamery.season.kept import FORMAT, MOST_KEPT, kept_folder, plan_kept, plan_key
from loamery.season.make import Solved


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_starter(tmp_path / "garden")


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(kept_module, "kept_folder", lambda: tmp_path / "kept")
    return tmp_path / "kept"


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return a list that grows with every search."""
    count: list[int] = []
    search = make.solve_season

    def counted(*given: object, **more: object) -> object:
        count.append(1)
        return search(*given, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(make, "solve_season", counted)
    return count


def test_a_kept_plan_is_the_same_plan_without_a_search(folder: Path, solved: list[int], cache: Path) -> None:
    garden = read_garden(folder)
    first, again = plan_kept(garden), plan_kept(garden)
    assert len(solved) == 1 and not first.before and again.before
    one, other = first.plan.as_dict(), again.plan.as_dict()
    one.pop("solver"), other.pop("solver")  # holds the seconds it took
    assert one == other
    assert (
        again.made.replace(microsecond=0) == first.made.replace(microsecond=0) and "nothing it rests on" in again.words
    )
    assert plan_kept(garden, anew=True).before is False and len(solved) == 2


def test_a_report_is_explained_from_the_kept_plan(
    folder: Path, solved: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    from loamery.cli.report import explain_kept
    from loamery.season import explained

    class Enough(Exception):
        """Ends the explanation where it has got its plan."""

    def agree(_prepared: object, _progress: object, *, first: Solved, **_more: object) -> None:
        begun.append(first)
        raise Enough

    begun: list[Solved] = []
    monkeypatch.setattr(explained, "agree", agree)
    garden = read_garden(folder)
    kept = plan_kept(garden)
    for _ in range(2):
        with pytest.raises(Enough):
            explain_kept(garden, lambda _: None)
    assert len(solved) == 1 and [one.plan.money for one in begun] == [kept.plan.money] * 2
    with pytest.raises(Enough):
        explain_kept(garden, lambda _: None, anew=True)
    assert len(solved) == 2


CHANGES: dict[str, Callable[[Path], object]] = {
    "a number": lambda folder: (folder / "beds.csv").write_text((folder / "beds.csv").read_text().replace("1", "2", 1)),
    "a new file": lambda folder: (folder / "stores.csv").write_text("material,kg\n"),
    "a file less": lambda folder: (folder / "plantings.csv").unlink(),
    "settings": lambda folder: (folder / "garden.toml").write_text(
        (folder / "garden.toml").read_text() + "\n# a word\n"
    ),
}


@pytest.mark.parametrize("what", CHANGES)
def test_any_change_of_a_file_is_another_plan(folder: Path, what: str) -> None:
    garden = read_garden(folder)
    before = plan_key(garden)
    assert plan_key(garden) == before
    CHANGES[what](folder)
    assert plan_key(garden) != before


def test_a_changed_laboratory_report_is_another_plan(folder: Path) -> None:
    from loamery.garden.model import ReportEntry

    (folder / "reports").mkdir(exist_ok=True)
    sheet = folder / "reports" / "grounds.csv"
    sheet.write_text("N,2.1\n")
    garden = read_garden(folder)
    entry = ReportEntry.model_construct(file="reports/grounds.csv", material="grounds")
    garden = garden.model_copy(update={"reports": (entry,)})
    before = plan_key(garden)
    sheet.write_text("N,2.2\n")
    assert plan_key(garden) != before


@pytest.mark.parametrize(
    "broken", ["", "{}", "[1]", json.dumps({"format": FORMAT, "made": "2027-01-01T00:00:00", "solution": {"take": {"shape": [2], "values": [1]}}})]
)  # fmt: skip
def test_a_broken_file_is_as_good_as_none(folder: Path, broken: str, solved: list[int], cache: Path) -> None:
    garden = read_garden(folder)
    cache.mkdir()
    (cache / f"{plan_key(garden)}.json").write_text(broken)
    assert plan_kept(garden).before is False and len(solved) == 1
    assert plan_kept(garden).before is True  # it was mended


def test_a_folder_that_cannot_be_written_costs_no_plan(folder: Path, cache: Path) -> None:
    cache.write_text("a file where the folder should be")
    assert plan_kept(read_garden(folder)).plan.beds


def test_old_plans_go(folder: Path, cache: Path) -> None:
    cache.mkdir()
    for number in range(MOST_KEPT + 5):
        (cache / f"{number}.json").write_text("{}")
    plan_kept(read_garden(folder))
    assert len(list(cache.glob("*.json"))) == MOST_KEPT


def test_plans_are_kept_in_the_cache_of_the_user() -> None:
    assert "loamery" in kept_folder().parts and kept_folder().is_absolute()
