"""The benefit sheet of a garden, and a thank-you sheet for each donor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.benefit_claims import Account, Claim, claims_of, story
from loamery.evidence.benefit_traces import benefit_ledger, claim_trace, gases_trace
from loamery.evidence.block import (
    Block,
    Column,
    Facts,
    Figure,
    Grid,
    Items,
    Line,
    Notice,
    Para,
    Say,
    Section,
    Sheet,
    Table,
)
from loamery.evidence.charts_benefit import donors_chart, gases_chart
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.evidence.report import FORMATS, check_folder, check_formats, render, write_charts
from loamery.evidence.text import Units, day_text, listing, plural
from loamery.finding import Ledger
from loamery.saving import save_bytes
from loamery.say import ENGLISH, say

INVENTED = say("Invented: this garden, its donors and all its numbers are made up to show how it works.")
FACT_KEYS = ("mass", "net_co2e", "money")
FACT_WORDS = {
    "mass": say("as received"),
    "net_co2e": say("CO₂ equivalents, if it would have gone to landfill"),
    "money": say("at the prices on the garden's list"),
}


def benefit_page(account: Account, on: date | None = None) -> Page:
    """Return the benefit sheet of a garden."""
    claims = claims_of(account)
    units = Units(account.garden.info.units)
    first: list[Block] = [
        _facts(claims),
        Items(list(story(account))),
        *(Notice(one) for one in account.gathered.findings),
    ]
    figures: list[Block] = [Figure(donors_chart(account), origin=claim_trace("mass"))] if account.donors else []
    figures += [Figure(gases_chart(account), origin=gases_trace(account))] if account.gathered.lots else []
    rows: list[Sequence[Line]] = [_donor_row(account, one, units) for one in account.donors]
    columns = (
        Column(say("Donor"), wide=2.0),
        Column(say("Free material"), "right", wide=1.1),
        Column(say("Saved, as CO₂"), "right", wide=1.8),
        Column(say("Fertiliser worth"), "right", wide=1.5),
    )
    sections = [
        Section(say("In short"), "short", [*first, Grid(figures)]),
        Section(say("What may be said, and what it rests on"), "claims", [_claims(claims)]),
        Section(
            say("By donor"),
            "donors",
            [Table(say("What each gave"), columns, rows, say("Bands in brackets. Each rests on what is said above."))],
        ),
    ]
    return _page(account, say("Benefit"), account.garden.info.name, sections, on)


def thanks_page(account: Account, donor: str, on: date | None = None) -> Page:
    """Return the thank-you sheet of one donor: with its appendix of traces, and without it as one page on paper."""
    page = _thanks(account, donor, on, brief=False)
    page.paper = _thanks(account, donor, on, brief=True)
    return page


def _thanks(account: Account, donor: str, on: date | None, *, brief: bool) -> Page:
    claims, who = claims_of(account, donor), account.garden.donor(donor)
    moved = account.gathered.moved
    when = say("{day} to {day_2}", day=day_text(moved.first), day_2=day_text(moved.last))
    verb = say("you gave") if moved.basis == "records" else say("the plan would take from you")
    opening = say(
        "From {when} {verb} {text} of {materials}. Thank you: it became soil and plant food instead of waste.",
        when=when,
        verb=verb,
        text=claims[0].text,
        materials=_materials(account, donor),
    )
    figures: list[Block] = [Figure(donors_chart(account, donor), brief=True, origin=claim_trace("mass", donor))]
    figures += (
        [Figure(gases_chart(account, donor), brief=True, origin=gases_trace(account, donor))]
        if any(one.key == "net_co2e" for one in claims)
        else []
    )
    parts: list[Block] = [Para(opening, "lead"), _facts(claims, donor), Grid(figures), _claims(claims, donor)]
    sections = [Section("" if brief else say("In short"), "thanks", parts)]
    return _page(account, say("Thank you"), who.name, sections, on, brief=brief)


def write_benefit(
    account: Account, folder: Path, *, formats: Sequence[str] = FORMATS, language: str = ENGLISH, on: date | None = None
) -> list[Path]:
    """Write the benefit sheet and a thank-you sheet for each donor, and return the paths.

    Parameters
    ----------
    folder : gets benefit.html and .pdf, thanks-DONOR.html and .pdf, and charts/.
    """
    wanted = check_formats(formats)
    check_folder(folder)
    page = benefit_page(account, on).in_language(language)
    written = [save_bytes(folder / f"benefit.{one}", render(page, one, lambda _: None)) for one in wanted]
    written += write_charts(page, folder / "charts")
    for donor in account.donors:
        one = thanks_page(account, donor, on).in_language(language)
        written += [save_bytes(folder / f"thanks-{donor}.{form}", render(one, form, lambda _: None)) for form in wanted]
        written += write_charts(one, folder / "charts")
    return written


def _facts(claims: Sequence[Claim], donor: str = "") -> Facts:
    """Return the main claims at a glance: the middle large, the band and the first of what it rests on below."""
    shown = []
    for one in claims:
        if one.key in FACT_KEYS:
            known, word = getattr(one.text, "values", {}), FACT_WORDS[one.key]
            rest = say("({range}) {word}", range=known["range"], word=word) if "range" in known else word
            shown.append((one.what, Say(known.get("middle", one.text), claim_trace(one.key, donor), strong=True), rest))
    return Facts(shown)


def _materials(account: Account, donor: str) -> str:
    names = [account.garden.material(what).name.lower() for who, what in account.gathered.moved.free if who == donor]
    return listing(names)


def _donor_row(account: Account, donor: str, units: Units) -> tuple[Line, ...]:
    found = {one.key: one.text for one in claims_of(account, donor)}
    return (
        account.garden.donor(donor).name,
        Say(units.mass(account.gathered.collected_kg(donor)), claim_trace("mass", donor)),
        Say(
            found.get("net_co2e", say("nothing avoided")), claim_trace("net_co2e", donor) if "net_co2e" in found else ""
        ),
        Say(found.get("money", "–"), claim_trace("money", donor) if "money" in found else ""),
    )


def _claims(claims: Sequence[Claim], donor: str = "") -> Table:
    rows: list[Sequence[Line]] = [
        (Say(one.what, strong=True), Say(one.text, claim_trace(one.key, donor)), Say(one.rests_on, soft=True))
        for one in claims
    ]
    columns = (
        Column(say("What"), wide=1.3),
        Column(say("How much (90 % band)"), wide=1.2),
        Column(say("Rests on"), wide=3.0),
    )
    return Table(say("Each figure with what it rests on"), columns, rows)


def _page(
    account: Account, kind: str, title: str, sections: Sequence[Section], on: date | None, *, brief: bool = False
) -> Page:
    day, info, moved = on or date.today(), account.garden.info, account.gathered.moved
    given = plural(len(account.donors), say("donor"), say("donors"))
    sheet = Sheet(
        kind=kind,
        title=title,
        lines=[say("{info_name}. {day} to {day_2}; {count}. Sheet of {day_3}.", info_name=info.name, day=day_text(moved.first), day_2=day_text(moved.last), count=given, day_3=day_text(day))],
        banner=INVENTED if info.invented else "",
        day=day.isoformat(),
        foot=say("{info_name} · {lower} · {day} · Loamery", info_name=info.name, lower=kind.lower(), day=day_text(day)) + (say(" · invented") if info.invented else ""),
        sections=sections,
        appendix=not brief,
    )  # fmt: skip
    follow = Follow(benefit_ledger(account) if sheet.appendix else Ledger())
    follow.cite(key for one in claims_of(account) for key in one.sources)
    return Page(sheet, follow)
