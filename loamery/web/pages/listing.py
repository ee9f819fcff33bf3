"""Records and their history as lists: short cells in the person's words and units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.http import HttpRequest
from django.utils import translation
from django.utils.translation import gettext as _

from loamery.web.pages import labels
from loamery.web.pages.environment import moment
from loamery.web.pages.forms import KIND_OF, TEMPS, batch_choices
from loamery.web.pages.seeing import system_of
from loamery.web.pages.terms import crop, quantity_name, told
from loamery.web.pages.words import Words
from loamery.web.records.models import KINDS, Change, Entry
from loamery.web.records.snapshot import snapshot

HIDDEN = ("id", "photo", "answers", "bulk_density_kg_m3", "seed", "draws", "beds", "plots", "treatments", "invented")
FIRST = ("on", "built", "day", "name", "file")
CHOSEN = {
    "design": labels.DESIGNS,
    "several": labels.SEVERAL,
    "use": labels.SPREAD,
    "feel": labels.FEELS,
    "smell": labels.SMELLS,
}
MOST_COLUMNS = 7
LONGEST = 60


def listed(request: HttpRequest, kind: str, entries: Iterable[Entry]) -> dict[str, Any]:
    """Return the records of one kind as rows of cells with heads, and all kinds to choose from."""
    words = _words(request)
    fields = [name for name in KINDS[kind].record.model_fields if name not in HIDDEN]
    fields.sort(key=lambda name: name not in FIRST)
    fields = fields[:MOST_COLUMNS]
    heaps = dict(batch_choices(snapshot(request.garden)))
    rows = [
        {"pk": one.pk, "photo": getattr(one, "photo", ""), "cells": [cell(words, one, name, heaps) for name in fields]}
        for one in entries
    ]
    return {
        "heads": [labels.field(kind, name) for name in fields],
        "rows": rows,
        "what": labels.KINDS[kind],
        "done_kinds": [(key, labels.KINDS[key]) for key in labels.DONE_KINDS],
        "thing_kinds": [(key, labels.KINDS[key]) for key in labels.THING_KINDS],
    }


def _words(request: HttpRequest) -> Words:
    return Words(translation.get_language() or "en", system_of(request, request.garden))


def cell(words: Words, entry: Entry, name: str, heaps: Mapping[str, str]) -> str:
    """Return one field of a record in short words; heaps are called by their place and day."""
    column = entry.columns()[name]
    value = getattr(entry, column)
    if name == "batch" and value is not None:
        return heaps.get(value.key, value.key)
    return told(str(value)) if isinstance(value, Entry) else said(words, name, value)


def said(words: Words, name: str, value: Any) -> str:
    """Return the value of a field in words: amounts with units, days by locale, choices by name."""
    if value is None or value == "" or value == []:
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        if name in KIND_OF:
            return words.amount(float(value), KIND_OF[name], 3)
        return words.temp(float(value)) if name in TEMPS else words.number(float(value), 4)
    if isinstance(value, date):
        return words.day(value)
    if isinstance(value, list) and isinstance(value[0], dict):
        return words.listing(str(one.get("name") or one.get("id")) for one in value)
    return _text(words, name, value)


def _text(words: Words, name: str, value: Any) -> str:
    if name in CHOSEN:
        return str(CHOSEN[name].get(value, value))
    if name == "uses":
        return words.listing(str(labels.USES[one]) for one in value)
    try:
        if name == "crop":
            return crop(value)
        if name == "quantity":
            return quantity_name(value)
        if isinstance(value, str) and len(value) == len("2027-01-01") and value[4] == value[7] == "-":
            return words.day(date.fromisoformat(value))
    except (StopIteration, ValueError):
        return str(value)
    text = str(value)
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


def changed(request: HttpRequest, changes: Iterable[Change]) -> list[dict[str, Any]]:
    """Return changes of the history as people read them."""
    words, out = _words(request), []
    for one in changes:
        before, after = one.before or {}, one.after or {}
        named = labels.SETTINGS if one.kind == "garden" else labels.FIELDS
        if one.kind == "garden":
            before, after = before.get("settings") or {}, (after.get("settings") or {}) if one.before else {}
        names = [name for name in after if before.get(name) != after[name] and name in named and name != "id"]
        lines = [
            {
                "name": named[name],
                "before": said(words, name, before.get(name)),
                "after": said(words, name, after[name]),
            }
            for name in names
            if not (one.before is None and name == "removed")
        ]
        lines = [line for line in lines if line["before"] or line["after"]]
        if left := (one.after or {}).get("left_out"):
            lines.append({"name": _("Files left out"), "before": "", "after": words.listing(left)})
        out.append(
            {
                "pk": one.pk, "kind": one.kind, "row": one.row, "what": labels.KINDS.get(one.kind, one.kind),
                "action": labels.ACTIONS.get(one.action, one.action), "who": one.who_said, "lines": lines,
                "at": moment(one.at), "first": one.before is None, "undone": one.undoes_id is not None,
                "about": _about(one),
            }
        )  # fmt: skip
    return out


def _about(one: Change) -> str:
    """Return what the record is called, or the day it is about."""
    state = one.after or one.before or {}
    return str(state.get("name") or state.get("on") or state.get("built") or state.get("file") or "")
