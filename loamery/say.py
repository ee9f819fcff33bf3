"""Sentences that can be said again in another language: an English text that remembers how it was put together.

A model words what it found with `say` and goes on as if that were the text: it is one, in English, to print, compare and
keep. Who shows it to a person asks `told` for it in that person's language. Catalogues of words are ordinary gettext ones
below ``loamery/locale``; what has no translation stays English.
"""

from __future__ import annotations

import gettext
import re
import string
from collections.abc import Iterable, Mapping
from datetime import date
from functools import lru_cache
from importlib.resources import files
from typing import Any

ENGLISH = "en"
COMMA_LANGUAGES = ("fr",)
DOMAIN = "core"
FIGURE = re.compile(r"[−<>≤≥±+ -]*\d[\d\u00a0.,]*(?:[ \u00a0]?\S{1,14})?(?:[ \u00a0]\S{1,8})?")
"""A number as `loamery.words` prints it, perhaps with its unit."""
SHOWN = ("values", "datasets", "domain", "sort", "title", "text")
FIELDS = ("field", "type", "op", "order", "format")
"""Parts of a Vega-Lite specification that people read, and names inside these that only the program reads."""
POINT = re.compile(r"(?<=\d)\.(?=\d)")
PERCENT = re.compile(r"(?<=\d)%")
ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


class Said(str):
    """A text in English with the message it was made from and what was filled in, or the texts it was put together from."""

    __slots__ = ("message", "parts", "values")
    message: str
    values: Mapping[str, Any]
    parts: tuple[str, ...]

    def __new__(
        cls, text: str, message: str = "", values: Mapping[str, Any] | None = None, parts: Iterable[str] = ()
    ) -> Said:
        """Return the text; see `say` and `joined`."""
        made = super().__new__(cls, text)
        made.message, made.values, made.parts = message, values or {}, tuple(parts)
        return made

    def __getnewargs__(self) -> tuple[str, str, Mapping[str, Any], tuple[str, ...]]:  # type: ignore[override]
        return self[:], self.message, self.values, self.parts

    def __getstate__(self) -> None:
        """Keep nothing beside the arguments above."""

    def __str__(self) -> str:
        """Return the text with what it remembers; ``said[:]`` is the bare text."""
        return self

    def __add__(self, other: str) -> Said:
        return joined("", (self, other))

    def __radd__(self, other: str) -> Said:
        return joined("", (other, self))


class Verbatim(str):
    """What stands in a paper or a file, to the letter: no language writes its figures in another way."""

    __slots__ = ()


class _Filler(string.Formatter):
    """Fills a message in one language: texts are told in it, numbers are written as it writes them."""

    def __init__(self, language: str) -> None:
        self.language = language

    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, str):
            return format(told(value, self.language), format_spec)
        return _written(format(value, format_spec), self.language)


def say(message: str, /, **values: Any) -> Said:
    """Return a sentence in English that can be said in other languages.

    Parameters
    ----------
    message : the sentence, with a name in braces for everything that is filled in; it is the key of the translation.
    values : what is filled in; texts that were said are told in the other language, too.
    """
    return Said(message.format(**values), message, values)


def joined(between: str, texts: Iterable[str]) -> Said:
    """Return texts one after another, each of which can be said in other languages."""
    parts: list[str] = []
    for one in texts:
        parts += [between, one] if parts and between else [one]
    return Said("".join(parts), parts=parts)


def capital(text: str) -> str:
    """Return a text with a capital first letter; another language says it as it does elsewhere."""
    return _begun(text, text[:1].upper())


def uncapital(text: str) -> str:
    """Return a text with a small first letter, to stand within a sentence; another language says it as it does elsewhere."""
    return _begun(text, text[:1].lower())


def _begun(text: str, letter: str) -> str:
    plain = letter + text[1:]
    return Said(plain, text.message, text.values, text.parts) if isinstance(text, Said) else plain


def either(texts: Iterable[str]) -> Said:
    """Return texts as one of several: "a or b"."""
    return joined(say(" or "), texts)


def told(text: str, language: str) -> str:
    """Return a text in a language: what was said from its message, a word of the trade by its catalogue, the rest as it is."""
    if language == ENGLISH or not text or isinstance(text, Verbatim):
        return text
    if isinstance(text, Said):
        if text.parts:
            return "".join(told(one, language) for one in text.parts)
        return _Filler(language).vformat(_translated(text.message, language) or text.message, (), text.values)
    if ISO_DAY.match(text):
        return _day(text, language)
    if FIGURE.fullmatch(text):
        return _written(text, language)
    return _word(text, language)


def day_of_month(day: date) -> str:
    """Return the number of a day of its month, which some languages count as "the first"."""
    return say("{first}", first=day.day) if day.day == 1 else str(day.day)


def _day(text: str, language: str) -> str:
    """Return a day that files write as 2027-04-26 as people write it; what is no such day as it is."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return text
    return f"{told(day_of_month(day), language)}\u00a0{_word(f'{day:%B}', language)} {day.year}"


def _word(text: str, language: str) -> str:
    """Return a word or name, begun as it was: a name of the trade is looked up with a capital where it has none."""
    if found := _translated(text, language):
        return found
    upper = _translated(text[:1].upper() + text[1:], language)
    return upper[:1].lower() + upper[1:] if upper else text


def is_told(text: str, language: str) -> bool:
    """Tell whether a text can be said in a language."""
    if language == ENGLISH or not any(one.isalpha() for one in text):
        return True
    if isinstance(text, Said):
        return (
            all(is_told(one, language) for one in text.parts)
            if text.parts
            else bool(_translated(text.message, language))
        )
    return bool(FIGURE.fullmatch(text)) or _word(text, language) != text


def told_all(thing: Any, language: str, shown: bool = False) -> Any:
    """Return the specification of a chart with what people read of it told: titles, values, the order and domain of names.

    Parameters
    ----------
    shown : whether the thing is read by people; names of fields are not, and stay.
    """
    if language == ENGLISH:
        return thing
    if isinstance(thing, Mapping):
        return {
            key: value if key in FIELDS else told_all(value, language, shown or key in SHOWN)
            for key, value in thing.items()
        }
    if isinstance(thing, list | tuple):
        return [told_all(value, language, shown) for value in thing]
    if isinstance(thing, Said):
        return told(thing, language)
    return told(thing, language) if shown and isinstance(thing, str) and not ISO_DAY.match(thing) else thing


def _written(text: str, language: str) -> str:
    return PERCENT.sub("\u00a0%", POINT.sub(",", text)) if language in COMMA_LANGUAGES else text


def _translated(message: str, language: str) -> str:
    """Return the translation of a message, empty where there is none."""
    return _catalogue(language).get(message, "")


@lru_cache(maxsize=8)
def _catalogue(language: str) -> dict[str, str]:
    place = files("loamery").joinpath("locale", language, "LC_MESSAGES", f"{DOMAIN}.mo")
    if not place.is_file():
        return {}
    with place.open("rb") as stream:
        known: dict[Any, str] = gettext.GNUTranslations(stream)._catalog  # type: ignore[attr-defined]
    return {key: value for key, value in known.items() if isinstance(key, str) and key and value}
