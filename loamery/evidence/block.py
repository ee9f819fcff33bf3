"""The parts a sheet is made of; the same parts become a web page and a printed one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loamery.evidence.chart import Chart
from loamery.finding import Finding, Trace

Align = Literal["left", "right"]


@dataclass(frozen=True)
class Say:
    """Some words of a line.

    Parameters
    ----------
    trace : id of the trace that says where the number comes from; without effect when there is no such trace.
    anchor : a place in the same sheet to jump to.
    """

    text: str
    trace: str = ""
    anchor: str = ""
    strong: bool = False
    soft: bool = False


Line = str | Say | tuple[str | Say, ...]


@dataclass(frozen=True)
class Para:
    """A paragraph; `tone` is plain, lead (larger) or soft (smaller, paler)."""

    line: Line
    tone: Literal["plain", "lead", "soft"] = "plain"


@dataclass(frozen=True)
class Items:
    """A list with points."""

    lines: Sequence[Line]


@dataclass(frozen=True)
class Facts:
    """Key figures side by side: label, figure, and a word about it."""

    facts: Sequence[tuple[str, Line, str]]


@dataclass(frozen=True)
class Notice:
    """A finding as a person reads it; several of one kind are told in one, each as a point."""

    finding: Finding
    points: Sequence[str] = ()


@dataclass(frozen=True)
class Column:
    """A column of a table; `tick` holds a box to tick off."""

    label: str
    align: Align = "left"
    tick: bool = False
    wide: float = 1.0


@dataclass(frozen=True)
class Table:
    """A table; a row that is a single Line runs across as a group heading."""

    caption: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Line] | Say]
    note: str = ""


@dataclass(frozen=True)
class Figure:
    """A chart with its caption; a brief one leaves it out where the text has said how to read it.

    `printed` stands in for it on paper; its title leads to the trace `origin`.
    """

    chart: Chart
    brief: bool = False
    printed: Chart | None = None
    origin: str = ""


@dataclass(frozen=True)
class Grid:
    """Parts side by side where there is room."""

    parts: Sequence[Block]


@dataclass(frozen=True)
class Fold:
    """Detail that is folded away on a screen and open in print."""

    summary: str
    parts: Sequence[Block]


@dataclass(frozen=True)
class Section:
    """A part with a heading, or without one a stack of parts in one place; `fresh` starts a new page in print, `fit` is set smaller where that saves a second page."""

    title: str
    anchor: str
    parts: Sequence[Block]
    fresh: bool = False
    fit: bool = False
    kicker: str = ""


@dataclass(frozen=True)
class Entry:
    """Where one number comes from."""

    trace: Trace


@dataclass(frozen=True)
class SourceList:
    """The published works that figures rest on, by key; brief ones run on in one small paragraph."""

    keys: Sequence[str]
    brief: bool = False


Block = Para | Items | Facts | Notice | Table | Figure | Grid | Fold | Section | Entry | SourceList


@dataclass(frozen=True)
class Sheet:
    """A whole document.

    Parameters
    ----------
    kind : what it is, in a word or two, above the title.
    lines : under the title.
    banner : said in a bar across the top, empty if nothing.
    day : date of the document, ISO.
    foot : said at the foot of every page.
    """

    kind: str
    title: str
    lines: Sequence[str]
    banner: str
    day: str
    foot: str
    sections: Sequence[Section]
    appendix: bool = True
