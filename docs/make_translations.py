"""Renew the catalogues of translated words: what the web page says, and the words of the trade that stand in data files.

Run ``python docs/make_translations.py`` after a text of the web page changed, translate what is empty in the ``.po`` files
below ``loamery/web/locale``, and run it again, which compiles them.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from loamery.names import quantities
from loamery.reference import table

ROOT = Path(__file__).resolve().parents[1]
WEB = ROOT / "loamery" / "web"
LOCALE = WEB / "locale"
LANGUAGES = ("fr",)
METHODS = [("**/jinja2/**.j2", "jinja2"), ("**.py", "python")]
NO_DAY = datetime(2026, 1, 1, tzinfo=UTC)
"""Stands in the compiled catalogues where the moment of compiling would, so that the same words give the same file."""
DATED = (
    "#",
    '"POT-Creation',
    '"PO-Revision',
    '"Generated-By',
    '"Project-Id',
    '"Report-Msgid',
    '"Last-Translator',
    '"Language-Team',
)
"""Lines of a catalogue that say when and by whom; the history of the repository says that better."""
KEYWORDS = {"_": None, "gettext": None, "gettext_lazy": None, "gettext_noop": None, "ngettext": (1, 2)}


def extracted() -> Catalog:
    """Return every text of the web page, and the words that it takes from data, in the order of files."""
    found = Catalog(project="Loamery", fuzzy=False, header_comment="# Words of the web page of Loamery.")
    for name, _line, message, comments, _context in extract_from_dir(
        str(WEB), METHODS, options_map={"**/jinja2/**.j2": {"silent": "false"}}, keywords=KEYWORDS
    ):
        found.add(message, locations=[(f"loamery/web/{name}", None)], auto_comments=comments)
    for text in data_words():
        found.add(text, locations=[("loamery/reference/data", None)])
    return found


def data_words() -> list[str]:
    """Return the names of quantities, crops and kinds of material, each once."""
    names = [one.label for one in quantities().values()]
    names += [row["name"] for row in (*table("crops"), *table("materials"))]
    return list(dict.fromkeys(names))


def path_of(language: str) -> Path:
    """Return where the words of a language are."""
    return LOCALE / language / "LC_MESSAGES" / "django.po"


def catalogue(language: str) -> Catalog:
    """Return the words of a language as they are translated so far."""
    path = path_of(language)
    if not path.is_file():
        return Catalog(locale=language, fuzzy=False)
    with path.open("rb") as stream:
        return read_po(stream, locale=language)


def renewed(language: str) -> Catalog:
    """Return the words of a language with every text of today: translated where it was, empty where it is new."""
    kept = catalogue(language)
    kept.fuzzy = False
    kept.update(extracted(), no_fuzzy_matching=True, update_creation_date=False)
    kept.obsolete.clear()
    return kept


def as_po(words: Catalog) -> bytes:
    """Return a catalogue as a .po file without dates, so that it changes only when words do."""
    stream = io.BytesIO()
    write_po(stream, words, width=120, omit_header=False, sort_output=True, no_location=True)
    lines = stream.getvalue().decode("utf-8").split("\n")
    return "\n".join(line for line in lines if not line.startswith(DATED)).encode()


def as_mo(po: bytes, language: str) -> bytes:
    """Return a .po file as the program reads it."""
    stream, words = io.BytesIO(), read_po(io.BytesIO(po), locale=language)
    words.creation_date = words.revision_date = NO_DAY
    write_mo(stream, words)
    return stream.getvalue()


def main() -> None:
    """Write the catalogues of all languages and say what is not translated yet."""
    for language in LANGUAGES:
        words = renewed(language)
        path = path_of(language)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(po := as_po(words))
        path.with_suffix(".mo").write_bytes(as_mo(po, language))
        empty = [
            one.id
            for one in words
            if one.id and not (all(one.string) if isinstance(one.string, tuple | list) else one.string)
        ]
        print(f"{language}: {len(words)} texts, {len(empty)} to translate")


if __name__ == "__main__":
    main()
