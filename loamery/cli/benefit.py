"""``loamery benefit``: what free material saved, each figure with what it rests on, and a thank-you sheet per donor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.report import formats_of
from loamery.cli.show import console, literal, print_findings, print_json, print_table, working
from loamery.errors import InputError, Where

if TYPE_CHECKING:
    from loamery.benefit.landfill import Zone
    from loamery.cli.options import UnitSystem
    from loamery.evidence.benefit_claims import Account
    from loamery.garden.model import Garden


@dataclass(frozen=True)
class BenefitQuestion:
    """What a person asked on the command line, as typed."""

    garden: Path
    basis: str
    zone: str | None
    captured: float | None
    landfilled: float
    into: Path | None
    format: str
    anew: bool
    language: str


def run(question: BenefitQuestion, units: UnitSystem | None, json: bool) -> None:
    """Work out what the garden's free material saved, write the sheets, and print it."""
    from loamery.evidence.benefit_claims import claims_of, story
    from loamery.evidence.benefit_sheet import write_benefit

    formats = formats_of(question.format)
    garden = open_garden(question.garden, units)
    with working(json) as tell:
        account = make_account(garden, question, tell)
        tell("writing the sheets")
        files = write_benefit(
            account, question.into or question.garden / "report", formats=formats, language=question.language
        )
    claims = claims_of(account)
    if json:
        donors = [
            {"donor": one, "claims": [each.as_dict() for each in claims_of(account, one)]} for one in account.donors
        ]
        print_json({
            "format": "loamery benefit 1", "basis": account.gathered.moved.basis, "zone": account.setting.zone, "claims": [one.as_dict() for one in claims],
            "donors": donors, "story": story(account), "findings": [one.as_dict() for one in account.gathered.findings], "files": [str(one) for one in files],
        })  # fmt: skip
        return
    print_table(
        "What may be said, and what it rests on",
        ("what", "how much (90 % band)", "rests on"),
        [(one.what, one.text, one.rests_on) for one in claims],
    )
    for line in story(account):
        console().print(literal(line))
    print_findings(account.gathered.findings)
    for path in [one for one in files if one.parent.name != "charts"]:
        console().print(literal(path))


def make_account(garden: Garden, question: BenefitQuestion, tell: Callable[[str], None]) -> Account:
    """Return the account of a garden, from its records or from its plan."""
    from loamery.benefit.account import Setting
    from loamery.evidence.benefit_account import gather, moved_by_plan, moved_by_records
    from loamery.evidence.benefit_claims import Account
    from loamery.season.prepare import prepare

    setting = Setting(
        _zone(garden, question.zone), _share(question.landfilled, "--landfilled"),
        None if question.captured is None else _share(question.captured, "--captured"), garden.info.seed, garden.info.draws,
    )  # fmt: skip
    if question.basis not in ("records", "plan", "either"):
        raise InputError(
            f"“{question.basis}”",
            where=Where(column="--from"),
            expected="records, plan or either",
            remedy="for example --from records",
        )
    moved = None if question.basis == "plan" else moved_by_records(garden)
    if moved is None and question.basis == "records":
        raise InputError(
            "no loads were written down", where=Where(file="loads.csv"), expected="one row for each load: donor, material, on, kg",
            remedy="write them down, or look at what the plan promises with --from plan",
        )  # fmt: skip
    prepared = prepare(garden, tell)
    if moved is None:
        from loamery.season.kept import plan_kept

        kept = plan_kept(garden, tell, anew=question.anew)
        tell(kept.words)
        moved = moved_by_plan(kept.plan)
    return Account(garden, gather(garden, prepared.compositions, prepared.soils, moved), setting, garden.fertilisers)


def _share(percent: float, option: str) -> float:
    if not 0.0 <= percent <= 100.0:
        raise InputError(
            f"{percent:g}", where=Where(column=option), expected="0 to 100 %", remedy=f"for example {option} 40"
        )
    return percent / 100.0


def _zone(garden: Garden, wanted: str | None) -> Zone:
    from loamery.benefit.landfill import ZONES, climate_zone

    if wanted is None:
        return climate_zone(garden.climate.mean_temp_c, garden.climate.rain_mm)
    key = wanted.strip().lower().replace("-", "_")
    for one in ZONES:
        if one == key:
            return one
    raise InputError(
        f"“{wanted}”",
        where=Where(column="--zone"),
        expected=", ".join(one.replace("_", "-") for one in ZONES),
        remedy="leave it out to take the garden's normals",
    )
