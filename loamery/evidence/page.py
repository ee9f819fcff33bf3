"""From the parts of a sheet to plain data, which the web template and the print template both lay out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from typing import Any

from loamery.evidence.block import (
    Block,
    Entry,
    Facts,
    Figure,
    Fold,
    Grid,
    Items,
    Line,
    Notice,
    Para,
    Say,
    Section,
    Sheet,
    SourceList,
    Table,
)
from loamery.evidence.chart import Chart
from loamery.evidence.follow import Follow
from loamery.evidence.text import SEVERITY_WORDS, sentence
from loamery.finding import Finding, Trace
from loamery.reference import source
from loamery.say import ENGLISH, say, told

Data = dict[str, Any]
READ_WORDS = {"found": say("read"), "recalled": say("recalled, not re-read")}
SENTENCES = ("because", "proposal", "caution", "note")
"""Parts that become sentences once it is known in which language."""
FIXED = ("block", "anchor", "tone", "severity", "align", "key", "day", "read", "language")
"""Parts that the program reads, and words of others that are quoted as they are."""


class Page:
    """A sheet as plain data.

    Parameters
    ----------
    data : title block, sections, appendix of traces and sources; ready for JSON.
    charts : the charts in it by key; printed : those that stand in for them on paper.
    paper : the sheet of one page that stands in for it on paper; None where it is printed as it is.
    """

    def __init__(self, sheet: Sheet, follow: Follow) -> None:
        self.follow = follow
        self.charts: dict[str, Chart] = {}
        self.printed: dict[str, Chart] = {}
        self.paper: Page | None = None
        sections = [self._section(one) for one in sheet.sections]
        closing = _closing(follow) if sheet.appendix else _works(follow)
        sections += [self._section(one) for one in closing]
        self._english: Data = {
            "kind": sheet.kind,
            "title": sheet.title,
            "lines": list(sheet.lines),
            "banner": sheet.banner,
            "day": sheet.day,
            "foot": sheet.foot,
            "sections": sections,
            "words": WORDS,
            "language": ENGLISH,
        }
        self.data: Data = spoken(self._english, ENGLISH)

    def in_language(self, language: str) -> Page:
        """Return the same sheet with its words, numbers and charts in a language."""
        if language == ENGLISH:
            return self
        other = copy(self)
        other.data = {**spoken(self._english, language), "language": language}
        other.charts = {key: one.in_language(language) for key, one in self.charts.items()}
        other.printed = {key: one.in_language(language) for key, one in self.printed.items()}
        other.paper = self.paper and self.paper.in_language(language)
        return other

    def _section(self, one: Section) -> Data:
        return {
            "block": "section",
            "title": one.title,
            "anchor": one.anchor,
            "fresh": one.fresh,
            "fit": one.fit,
            "kicker": one.kicker,
            "parts": self._parts(one.parts),
        }

    def _parts(self, parts: Sequence[Block]) -> list[Data]:
        return [self._block(one) for one in parts]

    def _block(self, one: Block) -> Data:
        match one:
            case Section():
                return self._section(one)
            case Para():
                return {"block": "para", "tone": one.tone, "line": self._line(one.line)}
            case Items():
                return {"block": "items", "lines": [self._line(line) for line in one.lines]}
            case Facts():
                facts = [{"label": name, "line": self._line(line), "word": word} for name, line, word in one.facts]
                return {"block": "facts", "facts": facts}
            case Notice():
                return {
                    "block": "notice",
                    **self._finding(one.finding),
                    "points": list(one.points),
                }
            case Table():
                return self._table(one)
            case Figure():
                return self._figure(one)
            case Grid():
                return {"block": "grid", "parts": self._parts(one.parts)}
            case Fold():
                return {"block": "fold", "summary": one.summary, "parts": self._parts(one.parts)}
            case Entry():
                return {"block": "entry", **self._entry(one.trace)}
            case SourceList():
                works = [_source(key, self.follow.cited.get(key, 0)) for key in one.keys]
                return {"block": "sources", "brief": one.brief, "sources": works}

    def _line(self, line: Line) -> list[Data]:
        parts = line if isinstance(line, tuple) else (line,)
        return [self._say(one if isinstance(one, Say) else Say(one)) for one in parts]

    def _say(self, one: Say) -> Data:
        return {
            "text": one.text,
            "ref": self.follow.number(one.trace),
            "anchor": one.anchor,
            "strong": one.strong,
            "soft": one.soft,
        }

    def _finding(self, one: Finding) -> Data:
        return {
            "severity": one.severity,
            "word": SEVERITY_WORDS[one.severity],
            "text": one.text,
            "because": one.because,
            "proposal": one.proposal,
            "caution": one.caution,
            "sources": self._cited(one.sources),
        }

    def _cited(self, keys: Sequence[str]) -> list[Data]:
        return [
            {"key": key, "number": self.follow.cited[key]}
            for key in sorted(self.follow.cite(keys), key=self.follow.cited.__getitem__)
        ]

    def _table(self, one: Table) -> Data:
        rows = [
            {"group": self._line(row)} if isinstance(row, Say) else {"cells": [self._line(cell) for cell in row]}
            for row in one.rows
        ]
        columns = [{"label": c.label, "align": c.align, "tick": c.tick, "wide": c.wide} for c in one.columns]
        return {"block": "table", "caption": one.caption, "columns": columns, "rows": rows, "note": one.note}

    def _figure(self, one: Figure) -> Data:
        chart = one.chart
        self.charts[chart.key] = chart
        if one.printed is not None:
            self.printed[chart.key] = one.printed
        return {
            "block": "figure",
            "key": chart.key,
            "title": chart.title,
            "ref": self.follow.number(one.origin),
            "alt": chart.alt,
            "caption": "" if one.brief else chart.caption,
            "wide": chart.wide,
            "sources": self._cited(() if one.brief else chart.sources),
        }

    def _entry(self, one: Trace) -> Data:
        return {
            "number": self.follow.numbers[one.id],
            "title": one.title,
            "value": one.value,
            "equation": one.equation,
            "inputs": [
                {"label": i.label, "value": i.value, "where": i.where, "ref": self.follow.number(i.trace)}
                for i in one.inputs
            ],
            "sources": self._cited(one.sources),
            "note": one.note,
        }


def spoken(thing: Any, language: str, name: str = "", block: str = "") -> Any:
    """Return a part of a sheet with its words told in a language, and sentences begun and ended as such."""
    if isinstance(thing, Mapping):
        block = str(thing.get("block", ""))
        return {key: one if key in FIXED else spoken(one, language, key, block) for key, one in thing.items()}
    if isinstance(thing, list | tuple):
        return [spoken(one, language, name, block) for one in thing]
    if not isinstance(thing, str):
        return thing
    whole = (block == "notice" and name in ("text", "points", *SENTENCES)) or (block == "entry" and name == "note")
    return sentence(told(thing, language)) if whole else told(thing, language)


WORDS = {
    "source": say("Source"),
    "sources": say("Sources"),
    "skip": say("Skip to the content"),
    "contents": say("Contents"),
    "tick": say("to tick off"),
    "see": say("see there"),
    "sideways": say("scrolls sideways"),
    "pages": say("1 of 1"),
    "colon": say(": "),
}
"""Words of the templates themselves."""


def _source(key: str, number: int) -> Mapping[str, object]:
    one = source(key)
    return {
        "key": key,
        "number": number,
        "citation": one.citation,
        "where": one.where_read,
        "read": one.read,
        "read_words": READ_WORDS.get(one.read, one.read),
        "note": one.note,
    }


def _works(follow: Follow) -> tuple[Section, ...]:
    """Return the sources alone, small, for a sheet of one page."""
    return (Section(say("Sources"), "sources", (SourceList(list(follow.cited), brief=True),)),) if follow.cited else ()


def _closing(follow: Follow) -> tuple[Section, ...]:
    """Return the sections that can only be written when everything else is: traces, then sources."""
    traces = follow.close()
    if not (traces or follow.cited):
        return ()
    read = [key for key in follow.cited if source(key).read == "found"]
    intro = say(
        "Every underlined figure leads to its entry here: what it is, how it was computed, from what, and on which published "
        "work it rests. A figure that went in and has an entry of its own leads on to it."
    )
    rests = say(
        "Only works that figures of this report rest on are listed: {count}, of which the figures of {read} were "
        "read in the place named and the others recalled and not re-read. “Common practice” and judgement are named as such.",
        count=len(follow.cited),
        read=len(read),
    )
    parts: list[Block] = [Para(intro, "soft"), *(Entry(one) for one in traces)]
    works = Section("Sources", "sources", (Para(rests, "soft"), SourceList(list(follow.cited))))
    if not traces:
        return (works,)
    return works, Section(say("Where every number comes from"), "traces", parts)
