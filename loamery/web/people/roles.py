"""What people may do in a garden."""

from __future__ import annotations

from enum import IntEnum

from django.utils.translation import gettext_lazy as _


class Role(IntEnum):
    """What a person may do in a garden; each may do all that those before it may."""

    READER = 1
    LOGGER = 2
    GROWER = 3
    OWNER = 4

    @property
    def label(self) -> str:
        """Return the role in words."""
        said: str = WORDS[self]
        return said


WORDS = {
    Role.READER: _("reader: sees everything"),
    Role.LOGGER: _("logger: writes down what was done"),
    Role.GROWER: _("grower: changes beds, materials and plans"),
    Role.OWNER: _("owner: people, settings, and everything else"),
}
CHOICES = [(role.value, said) for role, said in WORDS.items()]
