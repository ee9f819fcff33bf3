"""Words of the trade that come from data, in the person's language: quantities, crops, uses, tasks, severities."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

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
ANSWERS = {"passes": gettext_noop("passes"), "fails": gettext_noop("fails"), "unknown": gettext_noop("not known")}
TEXTURES = {
    "sand": gettext_noop("sand"),
    "loamy sand": gettext_noop("loamy sand"),
    "sandy loam": gettext_noop("sandy loam"),
    "loam": gettext_noop("loam"),
    "silt loam": gettext_noop("silt loam"),
    "clay loam": gettext_noop("clay loam"),
    "clay": gettext_noop("clay"),
}


def measure_name(key: str, label: str) -> str:
    """Return the name of a figure that plans are compared by; its English label where it has no other."""
    return _(MEASURES[key]) if key in MEASURES else label


def quantity_name(key: str) -> str:
    """Return a quantity's name; a trailing part such as ``:extractable`` is said in words."""
    name, _colon, more = key.partition(":")
    known = quantities().get(name)
    label = _(known.label) if known else name.replace("_", " ")
    return f"{label} ({_('extractable')})" if more == "extractable" else label


def stuff_name(name: str) -> str:
    """Return what a material, a compost or a test is called: in the person's language where it goes by the trade's name."""
    return _(name) if name else ""


def crop(slug: str) -> str:
    """Return a crop's name."""
    return _(crop_name(slug))


def use_name(use: str) -> str:
    """Return what is done with a material."""
    return _(USES.get(use, use))


def task_words(task: str, what: str, where: str) -> str:
    """Return what there is to do, in one line."""
    return _(TASKS[task]).format(what=what[:1].lower() + what[1:], where=where)


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
    """Return a proposal without what only those who edit files need."""
    return proposal.split(" Then write into reports.toml")[0].removesuffix(
        "answer it in reports.toml (answers = { … })"
    )
