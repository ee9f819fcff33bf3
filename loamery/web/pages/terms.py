"""Words of the trade that come from data, in the person's language: quantities, crops, uses, tasks, severities."""

from __future__ import annotations

from django.utils.translation import get_language, gettext_noop, ngettext
from django.utils.translation import gettext as _

from loamery import say
from loamery.bed.demand import crop_name
from loamery.finding import Severity
from loamery.names import quantities

USES = {
    "mulch": gettext_noop("mulch"),
    "dig_in": gettext_noop("worked in"),
    "heap": gettext_noop("heap"),
    "worm_bed": gettext_noop("worm bed"),
    "leave": gettext_noop("left with the donor"),
}
TASKS = {
    "buy": gettext_noop("Buy {what}"),
    "collect": gettext_noop("Fetch {what} from {where}"),
    "build": gettext_noop("Build the heap in {where}"),
    "turn": gettext_noop("Turn the heap in {where}"),
    "feed": gettext_noop("Feed {what} to the worms in {where}"),
    "mulch": gettext_noop("Mulch {where} with {what}"),
    "dig_in": gettext_noop("Work {what} into {where}"),
}
SEVERITIES: dict[Severity, str] = {
    "stop": gettext_noop("Stop:"),
    "warning": gettext_noop("Take care:"),
    "note": gettext_noop("Good to know:"),
}
CLASSES = {
    "very_low": gettext_noop("very low"),
    "low": gettext_noop("low"),
    "medium": gettext_noop("medium"),
    "high": gettext_noop("high"),
    "very_high": gettext_noop("very high"),
}
ORIGINS = {
    "derived": gettext_noop("worked out from others"),
    "measured and published": gettext_noop("reports and published ranges"),
    "measured": gettext_noop("reports"),
    "published": gettext_noop("published range"),
}
MEASURES = {
    "harvest_lost": gettext_noop("Harvest lost to hunger for nutrients"),
    "short_n": gettext_noop("Nitrogen short when it is needed"),
    "short_p": gettext_noop("Phosphorus short"),
    "short_k": gettext_noop("Potassium short"),
    "spare_n": gettext_noop("Nitrogen nobody took up"),
    "cover": gettext_noop("Wanted mulch that lies there"),
    "hours": gettext_noop("Hours of work"),
    "money": gettext_noop("Money spent"),
    "diverted_kg": gettext_noop("Free material put to use"),
    "left_over": gettext_noop("Planned amounts that did not fit a layer or a heap"),
    "compost_kg": gettext_noop("Compost made"),
}
NUTRIENT_NAMES = {"N": gettext_noop("Nitrogen"), "P": gettext_noop("Phosphorus"), "K": gettext_noop("Potassium")}
COLUMNS = {
    "added": gettext_noop("added"),
    "amount": gettext_noop("amount"),
    "ceiling": gettext_noop("ceiling"),
    "date": gettext_noop("day"),
    "depth_m": gettext_noop("depth, m"),
    "high": gettext_noop("upper end"),
    "high_share": gettext_noop("upper end of the share"),
    "hours": gettext_noop("hours"),
    "key": gettext_noop("sign"),
    "label": gettext_noop("week"),
    "low": gettext_noop("lower end"),
    "low_share": gettext_noop("lower end of the share"),
    "material": gettext_noop("material"),
    "median": gettext_noop("middle"),
    "middle": gettext_noop("middle"),
    "moisture": gettext_noop("moisture"),
    "needed": gettext_noop("needed"),
    "nutrient": gettext_noop("nutrient"),
    "on": gettext_noop("day"),
    "origin": gettext_noop("rests on"),
    "oxygen": gettext_noop("oxygen"),
    "published_high": gettext_noop("published, upper end"),
    "published_low": gettext_noop("published, lower end"),
    "share": gettext_noop("share"),
    "soil": gettext_noop("soil"),
    "soil_and_materials": gettext_noop("soil and materials"),
    "temp_c": gettext_noop("temperature, °C"),
    "temp_high_c": gettext_noop("temperature, upper end, °C"),
    "temp_low_c": gettext_noop("temperature, lower end, °C"),
    "unit": gettext_noop("unit"),
    "use": gettext_noop("use"),
    "week": gettext_noop("Monday"),
    "week_ends": gettext_noop("end of the week"),
    "what": gettext_noop("what"),
}
"""Heads of the tables of figures below charts."""
STEPS = {
    "reading": gettext_noop("Reading laboratory reports"),
    "combining": gettext_noop("Putting reports and published ranges together"),
    "running": gettext_noop("Running layers of mulch"),
    "blending": gettext_noop("Looking for blends"),
    "solving": gettext_noop("Solving the season"),
    "checking": gettext_noop("Checking the plan by the models of heap and bed"),
    "foreseeing": gettext_noop("Foreseeing heaps"),
    "drawing": gettext_noop("Drawing charts"),
    "trying": gettext_noop("Trying what more would spare"),
    "printing": gettext_noop("Printing sheets"),
    "playing": gettext_noop("Playing the plan in other seasons"),
    "weighing": gettext_noop("Weighing laboratory tests"),
    "writing": gettext_noop("Writing the sheets"),
    "learning": gettext_noop("Learning from readings"),
    "preparing": gettext_noop("Preparing the heap model"),
    "making": gettext_noop("Making ready"),
}
"""What the work in the background is at, by the first word it tells."""
ANSWERS = {"passes": gettext_noop("passes"), "fails": gettext_noop("fails"), "unknown": gettext_noop("not known")}


def measure_name(key: str, label: str) -> str:
    """Return the name of a figure that plans are compared by; its English label where it has no other."""
    return _(MEASURES[key]) if key in MEASURES else told(label)


def quantity_name(key: str) -> str:
    """Return a quantity's name; a trailing part such as ``:extractable`` is said in words."""
    name, _colon, more = key.partition(":")
    known = quantities().get(name)
    label = told(known.label) if known else name.replace("_", " ")
    return f"{label} ({_('extractable')})" if more == "extractable" else label


def stuff_name(name: str) -> str:
    """Return what a material, a compost or a test is called: in the person's language where it goes by the trade's name."""
    return told(name)


def told(text: str) -> str:
    """Return what a model said in the person's language."""
    return say.told(text, get_language() or say.ENGLISH)


def colon() -> str:
    """Return what stands between a name and what is said of it: some languages set a colon off."""
    return told(say.say(": "))


def crop(slug: str) -> str:
    """Return a crop's name."""
    return told(crop_name(slug))


def column(name: str) -> str:
    """Return the head of a column of a chart's figures."""
    return _(COLUMNS[name]) if name in COLUMNS else name.replace("_", " ")


def step(words: str) -> str:
    """Return what the work in the background is at."""
    known = STEPS.get(words.split(" ")[0])
    return _(known) if known else told(words)


def use_name(use: str) -> str:
    """Return what is done with a material."""
    return _(USES.get(use, use))


def task_words(task: str, what: str, where: str) -> str:
    """Return what there is to do, in one line."""
    return _(TASKS[task]).format(what=what[:1].lower() + what[1:], where=where)


def sacks_words(count: int) -> str:
    """Return a number of sacks."""
    return ngettext("{count} sack", "{count} sacks", count).format(count=count)


def severity(key: Severity) -> str:
    """Return how grave a finding is, as people say it."""
    return _(SEVERITIES[key])


def named(words: dict[str, str], key: str) -> str:
    """Return a word of one of the lists above, the key itself where the list has none."""
    return _(words[key]) if key in words else key.replace("_", " ")


FEELS = {"dry": gettext_noop("dry"), "moist": gettext_noop("moist"), "wet": gettext_noop("wet")}
SMELLS = {
    "earthy": gettext_noop("earthy"),
    "sour": gettext_noop("sour"),
    "ammonia": gettext_noop("of ammonia"),
    "rotten": gettext_noop("rotten"),
}


def for_web(proposal: str) -> str:
    """Return a proposal in the person's language, without what only those who edit files need."""
    if isinstance(proposal, say.Said) and "proposal" in proposal.values:
        return told(proposal.values["proposal"])
    return "" if proposal.startswith("answer it in reports.toml") else told(proposal)
