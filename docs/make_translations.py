"""Renew the catalogues of translated words: what the web page says, what the models say, the words of the trade in data files.

Run ``python docs/make_translations.py`` after a text of the web page or of a model (`loamery.say`) changed, translate what is
empty in the ``.po`` files below ``loamery/web/locale`` and ``loamery/locale``, and run it again, which compiles them.
"""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator
from datetime import UTC, date, datetime
from importlib import import_module
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from loamery.garden.fields import Record
from loamery.garden.model import TEXTURES
from loamery.heap.hygiene import hygiene_rules
from loamery.names import quantities
from loamery.reference import coefficient, family, source, table
from loamery.say import DOMAIN as CORE

ROOT = Path(__file__).resolve().parents[1]
WEB = ROOT / "loamery" / "web"
PAGES = "django"
DOMAINS = {PAGES: WEB / "locale", CORE: ROOT / "loamery" / "locale"}
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


def extracted(domain: str = PAGES) -> Catalog:
    """Return every text of the web page or of the models, and the words that these take from data, in the order of files."""
    if domain == CORE:
        return said()
    found = Catalog(project="Loamery", fuzzy=False, header_comment="# Words of the web page of Loamery.")
    for name, _line, message, comments, _context in extract_from_dir(
        str(WEB), METHODS, options_map={"**/jinja2/**.j2": {"silent": "false"}}, keywords=KEYWORDS
    ):
        found.add(message, locations=[(f"loamery/web/{name}", None)], auto_comments=comments)
    return found


def said() -> Catalog:
    """Return every message of the models, and the words and cautions that stand in data files."""
    found = Catalog(project="Loamery", fuzzy=False, header_comment="# What the models of Loamery say.")
    for _name, _line, message, _comments, _context in extract_from_dir(
        str(ROOT / "loamery"), [("**.py", "python")], keywords={"say": None, "word": None}
    ):
        found.add(message)
    for text in (*data_words(), *model_words(), *descriptions(), *dates()):
        found.add(text)
    return found


def model_words() -> list[str]:
    """Return what models take from data files beside names: cautions, rules of hygiene, tests, numbers, figures plans are compared by."""
    from loamery.benefit.account import DOC
    from loamery.evidence.benefit_traces import FILLING, GIVING_OFF
    from loamery.season.outcome import MEASURES
    from loamery.season.worm_course import CAPS, FAULTS, NOT_FED

    out = [row[key] for row in family("cautions") for key in ("text", "because")]
    out += [row["name"] for name in ("lab_tests", "jurisdictions") for row in table(name)]
    out += [row["description"] for row in table("coefficients_benefit")]
    out += [coefficient(key).description for key in (*DOC.values(), *FILLING, *GIVING_OFF)]
    out += [row[key] for row in table("home_test_classes") for key in ("class", "meaning") if not row[key].isupper()]
    out += [
        "dig in",
        "dry",
        "not stated",
        "measured",
        "published",
        "measured and published",
        "very low",
        "low",
        "medium",
        "high",
        "very high",
        "salts",
        "Yield",
        "soil",
        "material",
        "a number",
        "a key of the glossary",
        "as printed",
        "leave out",
        "loss on ignition",
        "n harvest index",
        *(f"removal {key}" for key in "NPK"),
        "found",
        "recalled",
        "not read; recalled",
        *(source(key).citation for key in ("GEN", "JUDGE", "PRACTICE")),
        *(source(key).note for key in ("JUDGE", "PRACTICE")),
    ]
    out += [one.way for one in hygiene_rules()]
    out += [*CAPS, *FAULTS, NOT_FED]
    soil = [row for row in table("limits") if row["applies_to"] == "soil"]
    out += [row[key] for key in ("class", "note") for row in soil if row[key]]
    return list(dict.fromkeys([*out, *(one.label for one in MEASURES)]))


def descriptions() -> list[str]:
    """Return what the columns of a garden's and a trial's files hold: refusals say it of a cell that is wrong."""
    for name in (
        "garden.model",
        "garden.records",
        "trials.design",
        "trials.folder",
        "trials.home_tests",
        "trials.record",
    ):
        import_module(f"loamery.{name}")
    fields = [one for kind in kinds_of(Record) for one in kind.model_fields.values()]
    return [*TEXTURES, *dict.fromkeys(one.description for one in fields if one.description)]


def kinds_of(kind: type[Record]) -> Iterator[type[Record]]:
    """Yield every kind of record there is."""
    for one in kind.__subclasses__():
        yield one
        yield from kinds_of(one)


def dates() -> list[str]:
    """Return the names of months, whole and short."""
    days = [date(2027, month, 1) for month in range(1, 13)]
    return list(dict.fromkeys(f"{day:{form}}" for form in ("%B", "%b") for day in days))


def data_words() -> list[str]:
    """Return the names of quantities, crops and kinds of material, each once."""
    names = [one.label for one in quantities().values()]
    names += [row["name"] for row in (*table("crops"), *table("materials"))]
    return list(dict.fromkeys(names))


def path_of(language: str, domain: str = PAGES) -> Path:
    """Return where the words of a language are."""
    return DOMAINS[domain] / language / "LC_MESSAGES" / f"{domain}.po"


def catalogue(language: str, domain: str = PAGES) -> Catalog:
    """Return the words of a language as they are translated so far."""
    path = path_of(language, domain)
    if not path.is_file():
        return Catalog(locale=language, fuzzy=False)
    with path.open("rb") as stream:
        return read_po(stream, locale=language)


def renewed(language: str, domain: str = PAGES) -> Catalog:
    """Return the words of a language with every text of today: translated where it was, empty where it is new."""
    kept = catalogue(language, domain)
    kept.fuzzy = False
    kept.update(extracted(domain), no_fuzzy_matching=True, update_creation_date=False)
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
    for language, domain in itertools.product(LANGUAGES, DOMAINS):
        words = renewed(language, domain)
        path = path_of(language, domain)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(po := as_po(words))
        path.with_suffix(".mo").write_bytes(as_mo(po, language))
        empty = [
            one.id
            for one in words
            if one.id and not (all(one.string) if isinstance(one.string, tuple | list) else one.string)
        ]
        print(f"{language}, {domain}: {len(words)} texts, {len(empty)} to translate")


if __name__ == "__main__":
    main()
