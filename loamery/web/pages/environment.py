"""What the templates of the pages use beside what every template can: the reader's rights, places to go, words of the trade."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from jinja2 import Environment
from markupsafe import Markup

from loamery import say
from loamery.evidence.text import sentence
from loamery.reference import sources
from loamery.say import day_of_month
from loamery.web.pages import labels
from loamery.web.pages.origin import leads_on
from loamery.web.pages.terms import colon, column, for_web, severity, step, stuff_name, told
from loamery.web.people.roles import Role
from loamery.words import unit_words

CHARTS = ("vendor/vega-6.2.0.min.js", "vendor/vega-lite-6.4.1.min.js", "vendor/vega-embed-7.0.2.min.js", "js/charts.js")
HARMLESS = {ord(one): f"\\u{ord(one):04x}" for one in "<>&\u2028\u2029"}
THEMES = ("light", "dark")
OPEN = ("public", "public-origin")
"""Pages for everybody: nothing of the garden stands around them, and nothing of it is linked to."""
ROWS_DIGITS = 4


def furnish(environment: Environment) -> None:
    """Give an environment the filters and words of the pages."""
    environment.filters.update(
        sentence=as_sentence,
        script_json=script_json,
        plain=plain,
        some=some,
        for_web=for_web,
        told=told,
        told_all=told_everywhere,
    )
    environment.globals.update(
        severity=severity, tongue=tongue, unit_words=unit_words, colon=colon, column=column, step=step, leads_on=leads_on, stuff_name=stuff_name, source=sources().get, chart_scripts=chart_scripts, moment=moment,
        kind_name=lambda kind: labels.KINDS.get(kind, kind), done_kinds=lambda: labels.DONE_KINDS,
    )  # fmt: skip


def as_sentence(text: str) -> str:
    """Return what a model said as a sentence in the person's language."""
    return sentence(told(text))


def told_everywhere(thing: Any) -> Any:
    """Return the specification of a chart, or the rows of its table, with its words in the person's language."""
    return say.told_all(thing, translation.get_language() or say.ENGLISH)


def tongue(*texts: str) -> Markup:
    """Return the mark of English for an element whose text a model worded and that has no translation.

    Names and notes are in whatever language people wrote them, and words of the pages are told already.
    """
    language = translation.get_language() or say.ENGLISH
    worded = (one for one in texts if isinstance(one, say.Said))
    return Markup("" if all(say.is_told(one, language) for one in worded) else ' lang="en"')


def script_json(value: Any) -> Markup:
    """Return a value as JSON that cannot end the script element it stands in."""
    return Markup(json.dumps(value, default=str).translate(HARMLESS))


def some(rows: Sequence[Any], most: int) -> Sequence[Any]:
    """Return at most so many rows, evenly spread over all."""
    return rows[:: -(-len(rows) // most)] if len(rows) > most else rows


def moment(at: datetime) -> str:
    """Return a moment in the person's words."""
    here = timezone.localtime(at)
    day = date_format(here, "DATE_FORMAT").replace(str(here.day), told(day_of_month(here.date())), 1)
    return f"{day}, {date_format(here, 'TIME_FORMAT')}"


def plain(value: object) -> str:
    """Return a figure of a chart's table with few digits."""
    return f"{value:.{ROWS_DIGITS}g}" if isinstance(value, float) else str(value)


def chart_scripts() -> Markup:
    """Return the scripts a page with charts needs."""
    tags = (f'<script src="{static(f"loamery/{one}")}" defer></script>' for one in CHARTS)
    return Markup("\n".join(tags))


class May:
    """What the reader of a page may do in the garden: log, plan, own."""

    def __init__(self, role: int | None) -> None:
        self.log = bool(role and role >= Role.LOGGER)
        self.plan = bool(role and role >= Role.GROWER)
        self.own = bool(role and role >= Role.OWNER)


def around(request: HttpRequest) -> dict[str, Any]:
    """Return what every page of a garden has around it: places to go, rights, theme, how computed English is marked."""
    garden = getattr(request, "garden", None)
    theme = request.COOKIES.get("theme", "")
    return {
        "may": May(getattr(request, "role", None)),
        "places": places(request, garden.slug) if garden is not None else None,
        "theme": theme if theme in THEMES else "",
        "bare": bool(request.resolver_match and request.resolver_match.url_name in OPEN),
    }


FIRST = (("today", "today"), ("season", "season"), ("beds", "beds"), ("heaps", "heaps"), ("materials", "materials"))
HERE = {"bed": "beds", "heap": "heaps", "worms": "heaps", "material": "materials", "reports": "materials", "review": "materials",
        "upload": "materials", "differently": "today",
        "tests": "sheets", "what-if": "season"}  # fmt: skip


def places(request: HttpRequest, slug: str) -> dict[str, Any]:
    """Return where one can go in a garden."""
    match = request.resolver_match
    space, name = (match.namespace, match.url_name) if match else ("", "")
    here = HERE.get(name or "", name) if space == "pages" else {"people": "people"}.get(space, "records")
    names = {
        "today": _("Today"),
        "season": _("Season"),
        "beds": _("Beds"),
        "heaps": _("Heaps"),
        "materials": _("Materials"),
    }
    first = [
        {
            "icon": icon,
            "name": names[key],
            "url": reverse(f"pages:{key}", args=[slug]),
            "here": here == key,
            "later": key == "materials",
        }
        for key, icon in FIRST
    ]
    later = [
        {"icon": "records", "name": _("Records"), "url": reverse("records:listing", args=[slug, "loads"]), "here": here == "records",
         "about": _("Everything written down, and its history.")},
        {"icon": "here", "name": _("At the heap"), "url": reverse("pages:here", args=[slug]), "here": here == "here",
         "about": _("For a phone, also without a network.")},
        {"icon": "sheets", "name": _("Evidence sheets"), "url": reverse("pages:sheets", args=[slug]), "here": here == "sheets",
         "about": _("To print and to share.")},
    ]  # fmt: skip
    if getattr(request, "role", 0) >= Role.OWNER:
        later.append({"icon": "people", "name": _("People"), "url": reverse("people:people", args=[slug]), "here": here == "people",
                      "about": _("Who belongs to the garden, and what they may do.")})  # fmt: skip
    later.append({"icon": "settings", "name": _("Settings"), "url": reverse("pages:settings", args=[slug]), "here": here == "settings",
                  "about": _("Units, language, light or dark, the garden's own settings.")})  # fmt: skip
    everything = [{**first[-1], "about": _("What donors give and what it is worth.")}, *later]
    shown = {one["name"] for one in first if not one["later"]}
    return {
        "first": first,
        "further": later,
        "all": everything,
        "more_here": not any(one["here"] and one["name"] in shown for one in first),
    }
