"""The form of a trial: what is compared, on which beds; its plots are drawn by lot when it is written down, and stay."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from loamery.errors import InputError
from loamery.trials.design import Head, Treatment, Trial
from loamery.trials.lay_out import bed_shapes, lay_out
from loamery.web.pages.forms import PersonForm
from loamery.web.records.forms import Number, next_key
from loamery.web.refusals import refusal

BLOCKS = 4
"""Blocks that are usual."""
FIXED = ("design", "seed", "beds", "plots", "invented")
"""What is drawn or set once and never changed: plots were marked by it."""
OPTIONS = {"--treatment": "treatments", "--control": "control", "--blocks": "blocks", "--ends": "ends", "crop": "crop"}


class TrialForm(PersonForm):
    """A trial in the words of who fills it in."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for name in FIXED:
            if name != "design" or self.entry is not None:
                self.fields.pop(name, None)
        shown = self.fields["treatments"]
        self.fields["treatments"] = forms.CharField(
            label=shown.label, help_text=shown.help_text, widget=forms.Textarea(attrs={"rows": 4}),
            initial=_lines(self.initial.pop("treatments", ())),
        )  # fmt: skip
        if self.entry is None:
            self._ask_where()
        for field in self.fields.values():
            field.unit = getattr(field, "unit", "")

    def _ask_where(self) -> None:
        beds = [(one.id, one.name) for one in self.now.beds]
        self.fields["where"] = forms.MultipleChoiceField(
            label=_("Beds"), help_text=_("All of them when none is ticked."), choices=beds, required=False,
            widget=forms.CheckboxSelectMultiple,
        )  # fmt: skip
        self.fields["across"] = forms.BooleanField(
            label=_("Blocks may run on"), required=False,
            help_text=_("From one bed to the next, where the beds do not hold enough whole blocks."),
        )  # fmt: skip
        self.fields["blocks"] = Number(
            label=_("Blocks"), help_text=_("How often each treatment stands; three to six are usual."), initial=BLOCKS
        )

    def clean(self) -> dict[str, Any]:
        """Return the trial with its plots drawn, or with its new words."""
        found = super().clean()
        if self.errors:
            return found
        blocks, where, across = found.pop("blocks", None), found.pop("where", ()), found.pop("across", False)
        try:
            found["treatments"] = _treatments(found["treatments"])
            if self.entry is None:
                found |= self._drawn(found, int(blocks or 0), where, across)
        except InputError as fault:
            name = OPTIONS.get(fault.where.column or "", "treatments")
            self.add_error(name if name in self.fields else None, refusal(fault))
        return found

    def _drawn(self, found: dict[str, Any], blocks: int, where: list[str], across: bool) -> dict[str, Any]:
        beds = [one for one in self.now.beds if not where or one.id in where]
        key = next_key(self.garden, self.kind)
        said = {name: found[name] for name in Head.model_fields if found.get(name) not in (None, "")}
        head = Head.model_validate(
            {**said, "name": key, "seed": self.now.info.seed, "invented": self.now.info.invented}
        )
        drawn: Trial = lay_out(head, found["treatments"], bed_shapes(beds, {}), blocks, across=across)
        return {"id": key, "seed": head.seed, "invented": head.invented, "beds": drawn.beds, "plots": drawn.plots}


def _lines(treatments: Any) -> str:
    rows = [one if isinstance(one, dict) else one.model_dump() for one in treatments]
    return "\n".join(f"{one['id']} = {one['name']}" for one in rows)


def _treatments(text: str) -> list[Treatment]:
    """Return treatments from lines such as ``none = No addition``.

    Raises
    ------
    InputError : a line without a short name.
    """
    found = []
    for line in filter(str.strip, text.splitlines()):
        key, _equals, name = (part.strip() for part in line.partition("="))
        try:
            found.append(Treatment(id=key, name=name or key))
        except ValueError:
            raise InputError(
                f"“{line.strip()}”", expected=_("a short name of small letters, =, and the words"),
                remedy=_("for example: none = No addition"),
            ) from None  # fmt: skip
    return found
