"""``loamery review``: the evidence of a season, from what was written down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.report import formats_of
from loamery.cli.show import console, literal, print_findings, print_json, working

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.evidence.review_facts import Facts


def run(
    folder: Path,
    year: int | None,
    into: Path | None,
    format: str,
    anew: bool,
    language: str,
    units: UnitSystem | None,
    json: bool,
) -> None:
    """Look back on a season, write its evidence, and say it in short."""
    from loamery.evidence.review_facts import gather_facts
    from loamery.evidence.review_sheet import review_page, write_review
    from loamery.season.kept import plan_kept

    formats = formats_of(format)
    garden = open_garden(folder, units)
    with working(json) as tell:
        facts = gather_facts(garden, year, tell)
        same = facts.moved is not None and facts.first <= garden.info.season_start <= facts.last
        kept = plan_kept(garden, tell, anew=anew) if same else None
        tell("writing the sheet")
        page = review_page(facts, kept.plan if kept else None, garden.fertilisers)
        files = write_review(page.in_language(language), into or folder / "report", formats=formats)
    if json:
        print_json({**document(facts, files), "plan_made": kept.made.isoformat() if kept else None})
        return
    _print(facts)
    if kept:
        console().print(f"Compared with: {literal(kept.words)}")
    for path in files[: len(formats)]:
        console().print(literal(path))


def document(facts: Facts, files: list[Path]) -> dict[str, object]:
    """Return the evidence ready for JSON."""
    from loamery.evidence.review_sheet import skills

    pairs = [*facts.pairs, *facts.harvests, *facts.soil_pairs]
    return {
        "format": "loamery review 1", "first": facts.first.isoformat(), "last": facts.last.isoformat(), "records": facts.records,
        "skill": [{"what": key, **one.as_dict()} for key, one in skills(facts).items()],
        "pairs": [{"what": one.what, "name": one.name, "when": one.when, "foreseen": one.foreseen.as_dict(), "measured": one.measured, "held": one.inside} for one in pairs],
        "soil": [{"bed": one.bed, "key": one.key, "before": one.before, "after": one.after, "beyond_scatter": one.beyond} for one in facts.soils],
        "learnt": [{"material": one.material, "key": one.key, "before": one.before.as_dict(), "after": one.after.as_dict()} for one in facts.learnt],
        "calibration": None if facts.calibration is None else {"heap": facts.calibration[0], "misfit_before": facts.calibration[1].misfit_before, "misfit_after": facts.calibration[1].misfit_after, "words": list(facts.calibration[1].words)},
        "findings": [one.as_dict() for one in facts.findings], "files": [str(one) for one in files],
    }  # fmt: skip


def _print(facts: Facts) -> None:
    from loamery.evidence.review_sheet import skills

    out = console()
    out.print(f"[bold]{literal(facts.garden.info.name)}[/], {facts.first} to {facts.last}")
    if not facts.records:
        out.print("Nothing was written down in this season, so there is no evidence of it.")
    else:
        out.print(
            f"{len(facts.garden.loads)} loads, {len(facts.garden.batches)} heaps, {len(facts.garden.readings)} readings, {len(facts.garden.harvests)} pickings."
        )
    for key, one in skills(facts).items():
        out.print(f"{key[0].upper() + key[1:]}: {literal(one.words)}")
    out.print()
    print_findings(facts.findings)
