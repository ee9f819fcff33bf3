"""The end of a season report: cautions collected, and how the plan was made."""

from __future__ import annotations

from loamery.evidence.block import Block, Items, Line, Notice, Para, Section
from loamery.evidence.cautions import cautions_for, general_cautions
from loamery.evidence.materials import planned_uses
from loamery.evidence.text import hours_text, listing
from loamery.finding import Finding, by_severity
from loamery.reference import table
from loamery.say import joined, say
from loamery.season.plan import SeasonPlan
from loamery.words import NBSP, number


def cautions_section(plan: SeasonPlan) -> Section:
    """Return every caution for the materials and uses of the plan, each once, gravest first."""
    found: dict[str, Finding] = {}
    for one in plan.materials:
        uses = planned_uses(one)
        if uses:
            found |= {
                each.code: each for each in cautions_for(plan.garden.material(one.material).kind, [*uses, "soil"])
            }
    everywhere = {use for one in plan.materials for use in planned_uses(one)} | {"soil"}
    found |= {each.code: each for each in general_cautions(everywhere)}
    intro = say(
        "Cautions for the materials and uses of this plan. They do not replace local codes or licensed advice; where the two differ, "
        "local codes hold."
    )
    parts: list[Block] = [Para(intro, "soft"), *(Notice(one) for one in by_severity(found.values()))]
    return Section(say("Cautions"), "cautions", parts, fresh=True)


def method_section(plan: SeasonPlan) -> Section:
    """Return how the plan was made, in a few plain sentences."""
    info = plan.garden.info
    rules = next(row for row in table("jurisdictions") if row["key"] == info.jurisdiction)["name"]
    climate = plan.garden.climate.source or say("monthly normals of the garden folder")
    lines: list[Line] = [
        say(
            "Laboratory reports are brought to one set of units and one basis, checked against each other and against published ranges, "
            "and combined with those ranges: a report narrows a range, it does not erase it."
        ),
        say(
            "Every uncertain figure is {draws} seeded draws (seed {seed}); a band holds nine of ten of them.",
            draws=number(info.draws, 4),
            seed=str(info.seed),
        ),
        say(
            "What crops need follows from expected yields and published contents of harvests, spread over the weeks each crop stands; the "
            "soil's own supply from its organic matter; release from materials from published decay and the warmth of each week."
        ),
        say(
            "Heap recipes are blends that keep published bounds of moisture, C:N ratio and free air space in most draws."
        ),
        _programme(plan),
        say("Limits: {rules}.", rules=rules),
        say("Climate: {climate}.", climate=climate),
        say("Untested materials: {names}.", names=listing([one.lower() for one in plan.published_only])),
    ]
    return Section(say("How this plan was made"), "method", (Items(lines),))


def _programme(plan: SeasonPlan) -> str:
    """Return what the programme that chose the amounts went by, and how far it came."""
    seconds = joined(NBSP, (number(plan.seconds, 2), say("seconds")))
    return say(
        "A mixed-integer linear programme then chooses amounts for every week, bed and heap, within storage life, ceilings "
        "for phosphorus, potassium, salt and trace elements, and the hours there are, for {draws} draws at once: first so that crops "
        "lack least, in the mean and in the worst of them, then with least work and money, then with most free material put to use. "
        "Status: {status}; no plan can spare more than {hours} of work and serve the crops as well. It took {seconds}.",
        draws=plan.scenarios,
        status=plan.status,
        hours=hours_text(plan.gaps["cost"]),
        seconds=seconds,
    )
