"""Forms of records as one person fills them in: their words, their units, their language."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext as _

from loamery.garden.model import TEXTURES
from loamery.garden.model import Garden as Snapshot
from loamery.names import quantities
from loamery.reference import table
from loamery.units import System, show, units
from loamery.web.pages import labels
from loamery.web.pages.seeing import system_of, today_of
from loamery.web.pages.terms import crop, quantity_name, told
from loamery.web.pages.words import TO_F
from loamery.web.records.forms import RecordForm
from loamery.web.records.models import Entry, Garden
from loamery.web.records.snapshot import snapshot

KIND_OF = {
    "kg": "mass", "water_kg": "mass", "compost_kg": "mass", "kg_per_week": "mass", "worms_kg": "mass", "sack_kg": "mass", "volume_m3": "heap volume",
    "capacity_m3": "heap volume", "area_m2": "area", "depth_m": "depth",
}  # fmt: skip
"""Fields typed in the person's units, by the kind of quantity they are."""
TEMPS = ("temp_c", "min_temp_c", "max_temp_c")
LINKS = {"donor": "donors", "material": "materials", "bed": "beds", "heap": "heaps", "worm_bed": "worm_beds"}
LATER = ("photo", "by", "note")
EXACT = 6
"""Digits a stored number is shown with in a field."""
CHOICES: dict[str, Mapping[str, Any]] = {
    "use": labels.SPREAD, "feel": labels.FEELS, "smell": labels.SMELLS, "uses": labels.USES, "accepted": {},
    "design": labels.DESIGNS, "several": labels.SEVERAL,
}  # fmt: skip


def typed_unit(name: str, system: System) -> str:
    """Return the unit a field is typed in, empty when it has none."""
    if name in KIND_OF:
        return show(0.0, KIND_OF[name], system)[1]
    return ("°F" if system == "us" else "°C") if name in TEMPS else ""


def to_person(name: str, value: Any, system: System) -> Any:
    """Return a stored value as the person types it."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    if name in KIND_OF:
        return float(f"{show(float(value), KIND_OF[name], system)[0]:.{EXACT}g}")
    return round(value * TO_F[0] + TO_F[1], 2) if name in TEMPS and system == "us" else value


def from_person(name: str, value: Any, system: System) -> Any:
    """Return a typed value as it is stored."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    if name in KIND_OF:
        return value / show(1.0, KIND_OF[name], system)[0]
    return (value - TO_F[1]) / TO_F[0] if name in TEMPS and system == "us" else value


class PersonForm(RecordForm):
    """The form of one kind of record, in the words and units of who fills it in.

    Parameters
    ----------
    now : the garden's records, for what can be chosen. entry : the record to change, None for a new one.
    given : values to start from, as they are stored.
    """

    def __init__(
        self, garden: Garden, now: Snapshot, kind: str, system: System, *args: Any, entry: Entry | None = None,
        given: Mapping[str, Any] | None = None, **more: Any,
    ) -> None:  # fmt: skip
        self.now, self.system = now, system
        super().__init__(garden, kind, *args, entry=entry, **more)
        for name in ("id", "answers", "accepted"):
            self.fields.pop(name, None)
        order = [name for name in self.fields if name not in LATER]
        self.order_fields([*order, *LATER])
        for name, field in self.fields.items():
            self._say(name, field, now)
        if given:
            self.initial |= given
        for name in self.fields:
            if name in self.initial:
                self.initial[name] = to_person(name, self.initial[name], system)
            elif self.fields[name].initial is not None:
                self.fields[name].initial = to_person(name, self.fields[name].initial, system)

    def _things(self, name: str, of: type[Entry]) -> list[tuple[str, str]]:
        if name == "batch":
            return batch_choices(self.now)
        if name == "trial":
            return super()._things(name, of)
        return [(one.id, told(one.name)) for one in getattr(self.now, LINKS[name])]

    def _say(self, name: str, field: forms.Field, now: Snapshot) -> None:
        """Give a field its words and its choices."""
        field.label, field.help_text = (
            labels.field(self.kind, name),
            labels.HELP_OF.get((self.kind, name), labels.HELP.get(name, "")),
        )
        field.unit = typed_unit(name, self.system)
        choices = self._choices(name, now)
        if choices is not None:
            empty = [] if field.required or name == "uses" else [("", "–")]
            if isinstance(field, forms.ChoiceField):
                field.choices = [*empty, *choices]
            else:
                self.fields[name] = field = forms.ChoiceField(
                    choices=[*empty, *choices],
                    required=field.required,
                    label=field.label,
                    help_text=field.help_text,
                    initial=field.initial,
                )
                field.unit = ""

    def _choices(self, name: str, now: Snapshot) -> list[tuple[str, Any]] | None:
        if name in CHOICES:
            return list(CHOICES[name].items())
        if name == "crop":
            return sorted(((row["slug"], crop(row["slug"])) for row in table("crops")), key=lambda one: one[1])
        if name == "item":
            crops = [(row["slug"], crop(row["slug"])) for row in table("crops")]
            return sorted([*crops, *((one.id, told(one.name)) for one in now.materials)], key=lambda one: one[1])
        if name == "texture":
            return [(key, told(key)) for key in TEXTURES]
        if name == "quantity":
            return sorted(((key, quantity_name(key)) for key in quantities()), key=lambda one: one[1])
        if name == "test":
            return [(row["key"], told(row["name"])) for row in table("lab_tests")]
        if name == "unit" and self.kind != "trials":
            return [(key, key) for key in units()]
        if name == "kind" and self.kind == "materials":
            return sorted(((row["slug"], told(row["name"])) for row in table("materials")), key=lambda one: one[1])
        return list(labels.HEAP_KINDS.items()) if name == "kind" and self.kind == "heaps" else None

    def clean(self) -> dict[str, Any]:
        """Return what was typed in the units it is stored in."""
        cleaned = super().clean() or self.cleaned_data
        return {name: from_person(name, value, self.system) for name, value in cleaned.items()}


def batch_choices(now: Snapshot) -> list[tuple[str, str]]:
    """Return the heaps that were built, those that stand first."""
    names = {one.id: one.name for one in now.heaps}
    found = sorted(now.batches, key=lambda one: (one.emptied is not None, -one.built.toordinal()))
    words = [
        _("{heap}, built {day}").format(heap=names.get(one.heap, one.heap), day=f"{one.built:%Y-%m-%d}")
        for one in found
    ]
    return [
        (one.id, text if one.emptied is None else f"{text} ({_('emptied')})")
        for one, text in zip(found, words, strict=True)
    ]


def person_form(request: HttpRequest, kind: str, entry: Entry | None = None) -> PersonForm:
    """Return the form of a record as it was sent, or to be filled in; what the address names is filled in already."""
    now = snapshot(request.garden)
    given: dict[str, Any] = {}
    if entry is None and request.method != "POST":
        given = {"on": today_of(request.garden), "built": today_of(request.garden), **request.GET.dict()}
    sent = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = PersonForm
    if kind == "trials":
        from loamery.web.pages.trial_form import TrialForm as form
    return form(request.garden, now, kind, system_of(request, request.garden), *sent, entry=entry, given=given)
