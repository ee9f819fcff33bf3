"""What Loamery refuses, in the language of the person it is said to."""

from __future__ import annotations

from django.utils.translation import get_language

from loamery.errors import InputError, LoameryError
from loamery.say import ENGLISH, told


def in_words(said: LoameryError | str) -> str:
    """Return the whole of what an error, or a text of one, says."""
    return told(str(said), get_language() or ENGLISH)


def refusal(fault: InputError) -> str:
    """Return what a fault says beside the field it is about: what was read, what was expected, what to do."""
    language = get_language() or ENGLISH
    remedy = told(fault.remedy, language)
    return f"{told(fault.read, language)}{COLON.get(language, ': ')}{told(fault.expected, language)}. {remedy[:1].upper()}{remedy[1:]}."


COLON = {"fr": "\u00a0: "}
"""Languages that set a space before a colon."""
