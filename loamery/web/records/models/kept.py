"""What is kept beside the records: the history of every change, and the files that records name."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from loamery.errors import InputError
from loamery.say import say
from loamery.web.records.models.base import Garden


class Action(StrEnum):
    """What was done to a record."""

    ADD = "add"
    EDIT = "edit"
    REMOVE = "remove"
    RESTORE = "restore"
    IMPORT = "import"


ACTIONS = {
    Action.ADD: _("added"),
    Action.EDIT: _("changed"),
    Action.REMOVE: _("removed"),
    Action.RESTORE: _("brought back"),
    Action.IMPORT: _("taken in from a folder"),
}


class Change(models.Model):
    """One change of one record: who, when, what it said before and after. Written once, never altered."""

    garden = models.ForeignKey(Garden, on_delete=models.CASCADE, related_name="changes")
    at = models.DateTimeField(default=timezone.now, editable=False)
    who = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    who_said = models.CharField(max_length=254, blank=True)
    action = models.CharField(max_length=8, choices=list(ACTIONS.items()))
    kind = models.CharField(max_length=20)
    row = models.BigIntegerField()
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    undoes = models.ForeignKey("self", null=True, on_delete=models.CASCADE, related_name="undone_by")

    class Meta:
        """Newest first; found by garden, and by record."""

        ordering = ["-pk"]
        indexes = [models.Index(fields=["garden", "kind", "row"], name="history_of_a_record")]

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Write the change down once.

        Raises
        ------
        InputError : it is already written.
        """
        if self.pk is not None:
            raise _written()
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> None:
        """Refuse: history is not altered."""
        raise _written()


def _written() -> InputError:
    return InputError(
        say("a change of the history"), expected=say("history left as it is"), remedy=say("undo the change instead")
    )


class Attachment(models.Model):
    """A file of a garden: a laboratory's report or a photo, as it was given."""

    garden = models.ForeignKey(Garden, on_delete=models.CASCADE, related_name="attachments")
    path = models.CharField(max_length=200)
    bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        """A path stands once in a garden."""

        constraints = [models.UniqueConstraint(fields=["garden", "path"], name="attachment_path_once")]
