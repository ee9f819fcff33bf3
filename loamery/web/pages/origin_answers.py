"""Where the numbers of answers come from: which test next, what if."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _

from loamery.finding import Input, Trace
from loamery.season.lab_tests import WorthOfTest
from loamery.web.pages.asking import TestsFound
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import colon, measure_name, quantity_name, stuff_name

Answers = Callable[[str], Any]
"""Returns the kept answer to a question, None when there is none."""


def test_origin(sight: Sight, found: TestsFound | None, rest: str) -> Trace | None:
    """Return where a number about a test comes from: ``PLACE/WHAT``, or ``everything``."""
    if found is None:
        return None
    currency, words = sight.garden.info.currency, sight.words
    if rest == "everything":
        value = f"{words.number(found.tests.certainty, 2)} {currency}"
        rule = _("mean over the seasons of the best plan in each − the plan that is best on the whole")
        return Trace("test/everything", _("Worth of knowing everything"), value, rule, _played(found))
    place, _slash, what = rest.partition("/")
    if not place.isdecimal() or int(place) >= len(found.tests.tests):
        return None
    one = found.tests.tests[int(place)]
    makers = {"price": _price, "worth": _worth, "ratio": _ratio, "changes": _changes}
    return makers[what](sight, found, one, rest) if what in makers else None


def _name(one: WorthOfTest) -> str:
    return f"{stuff_name(one.test.name)}{colon()}{stuff_name(one.test.about_name)}"


def _played(found: TestsFound) -> tuple[Input, ...]:
    return (
        Input(_("Seasons drawn"), str(found.tests.draws)),
        Input(_("Plans played in each"), str(len(found.tests.plans))),
    )


def _price(sight: Sight, found: TestsFound, one: WorthOfTest, rest: str) -> Trace:
    value = f"{sight.words.number(one.test.price)} {sight.garden.info.currency}"
    return Trace(f"test/{rest}", _("Price of the test, {name}").format(name=_name(one)), value, one.test.printed)


def _worth(sight: Sight, found: TestsFound, one: WorthOfTest, rest: str) -> Trace:
    words = sight.words
    value = f"{words.number(one.worth.value, 2)} ± {words.number(one.worth.error, 1)} {sight.garden.info.currency}"
    measures = words.listing(quantity_name(key) for key in one.test.measures)
    rule = _("mean benefit of the plan one would choose after seeing the result − that of the plan chosen without it; what is to be expected after a result is found by regression over the seasons")  # fmt: skip
    inputs = (*_played(found), Input(_("It measures"), measures))
    note = _("More plans could only add to it, so it is a floor. After ± stands one standard error.")
    return Trace(f"test/{rest}", _("Worth of the test, {name}").format(name=_name(one)), value, rule, inputs, (), note)


def _ratio(sight: Sight, found: TestsFound, one: WorthOfTest, rest: str) -> Trace:
    here, words = f"test/{rest.partition('/')[0]}", sight.words
    inputs = (
        Input(_("Worth"), words.number(one.worth.value, 2), "", f"{here}/worth"),
        Input(_("Price"), words.number(one.test.price), "", f"{here}/price"),
    )
    title = _("Worth over price, {name}").format(name=_name(one))
    return Trace(f"test/{rest}", title, words.number(one.per_price, 2), _("worth ÷ price"), inputs)


def _changes(sight: Sight, found: TestsFound, one: WorthOfTest, rest: str) -> Trace:
    title = _("How often the test changes the plan, {name}").format(name=_name(one))
    rule = _("share of the drawn seasons in which another plan would be chosen after the result")
    return Trace(f"test/{rest}", title, sight.words.share(one.worth.changes), rule, _played(found))


def what_if_origin(sight: Sight, found: list[Any] | None, rest: str) -> Trace | None:
    """Return where a figure of a compared plan comes from: ``ANSWER/MEASURE/SIDE``, or ``ANSWER/kept/SIDE``."""
    parts = rest.split("/")
    if not found or len(parts) != 3 or not (parts[0].isdecimal() and int(parts[0]) < len(found)):
        return None
    one, key = found[int(parts[0])], parts[1]
    side = {"0": 0, "1": 1}.get(parts[2])
    row = next((each for each in one.rows if each.measure.key == key), None)
    if side is None or (row is None and key != "kept"):
        return None
    words = sight.words
    which = _("as it is") if side == 0 else _("as it would be")
    inputs = (Input(_("Seasons played"), str(one.seasons)), Input(_("Plan"), which), Input(_("Question"), one.question))
    if row is None:
        title, value = _("Seasons in which all limits are kept"), words.share(one.kept_shares[side])
        return Trace(f"what-if/{rest}", title, value, _("share of the seasons played in which no ceiling, store or hour was overrun"), inputs)  # fmt: skip
    unit = row.measure.unit or sight.garden.info.currency
    shown = words.band(row.bands[side])
    value = f"{shown.text} {unit} ({shown.between})" if shown.between else f"{shown.text} {unit}"
    rule = _(
        "the plan is carried out week by week in each drawn season, with its weather, loads and compositions; middle and 90 % band of all"
    )
    return Trace(f"what-if/{rest}", measure_name(key, row.measure.label), value, rule, inputs,
                 note=_("Both plans are played in the same seasons, so that their difference is not chance."))  # fmt: skip
