"""Delimited and aligned text as a grid: which letters, which delimiter, which columns."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from loamery.finding import Finding
from loamery.lab.tables import TYPE_IT_IN, Cell, Document, Grid, unreadable
from loamery.say import say

_DELIMITERS = ("\t", ";", "|", ",")
_SURER = 1.5
"""How much a tab, semicolon or bar counts beside a comma, which is also a decimal mark."""
_BINARY_SHARE = 0.01
_JOINED_LINES = 4

Chunk = tuple[float, float, str]
"""A piece of a line: where it starts, where it ends, its text."""


def read_text(path: Path, data: bytes) -> Document:
    """Return the grid of a text file.

    Raises
    ------
    UnreadableFile : the bytes are not text.
    """
    text, findings = decode(path, data)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    head = re.fullmatch(r'"?sep=(.)"?', lines[0].strip()) if lines else None
    delimiter = head[1] if head else find_delimiter(lines)
    if head:
        lines[0] = ""
    if delimiter:
        rows, aligned = tuple(split_delimited(lines, delimiter)), True
    else:
        rows, aligned = aligned_rows([(number, _chunks(line)) for number, line in enumerate(lines, 1) if line.strip()])
    return Document(path.name, (Grid(rows, path.name, aligned=aligned),), findings)


def decode(path: Path, data: bytes) -> tuple[str, tuple[Finding, ...]]:
    """Return the text of a file whose encoding nobody stated, with a finding where it had to be guessed."""
    for mark, name in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            text, guess = _decode_marked(data, name)
            return _checked(path, text), (_guessed(path, guess),) if guess else ()
    if (wide := _wide(data)) is not None:
        return _checked(path, data.decode(wide, "replace")), (
            _guessed(path, say("{wide} without its mark", wide=wide)),
        )
    try:
        return _checked(path, data.decode("utf-8")), ()
    except UnicodeDecodeError:
        text, note = _line_by_line(data)
        return _checked(path, text), (_guessed(path, note),)


def _decode_marked(data: bytes, name: str) -> tuple[str, str]:
    try:
        return data.decode(name), ""
    except UnicodeDecodeError:
        if name == "utf-8-sig":
            return _line_by_line(data[3:])
        return data.decode(name, "replace"), say("damaged UTF-16")


def _wide(data: bytes) -> str | None:
    """Return the name of a two-byte encoding without its mark, judged from where the zero bytes stand."""
    sample = data[:2000]
    if len(sample) < 4:
        return None
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if odd > 0.6 * half and even < 0.1 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.6 * half and odd < 0.1 * half else None


def _line_by_line(data: bytes) -> tuple[str, str]:
    """Decode each line as UTF-8 where it is, else as Windows-1252, and say which lines were not."""
    out, odd = [], []
    for number, line in enumerate(data.split(b"\n"), 1):
        try:
            out.append(line.decode("utf-8"))
        except UnicodeDecodeError:
            odd.append(number)
            out.append(_single_byte(line))
    mixed = any(any(byte > 127 for byte in line.encode("utf-8")) for at, line in enumerate(out, 1) if at not in odd)
    lines = ", ".join(map(str, odd[:8]))
    which = (
        say("Windows-1252 in lines {lines}", lines=lines)
        if len(odd) > 1
        else say("Windows-1252 in line {lines}", lines=lines)
    )
    return "\n".join(out), say("UTF-8 with {which}", which=which) if mixed else which


def _single_byte(line: bytes) -> str:
    try:
        return line.decode("cp1252")
    except UnicodeDecodeError:
        return line.decode("latin-1")


def _guessed(path: Path, what: str) -> Finding:
    return Finding(
        "encoding_guessed",
        "note",
        say("The letters of the file are in no encoding that it states; they were read as best they could be."),
        say("{name} was read as {what}. Check accented letters and the micro sign.", name=path.name, what=what),
        about=path.name,
    )


def _checked(path: Path, text: str) -> str:
    bad = sum(
        1
        for char in text
        if (ord(char) < 32 and char not in "\t\r\n\x0b\x0c") or 127 <= ord(char) < 160 or char == "\ufffd"
    )
    if bad > max(2, _BINARY_SHARE * len(text)):
        raise unreadable(
            path,
            say("bytes that are not text"),
            say("open it with the program it came from, or {type_it_in}", type_it_in=TYPE_IT_IN),
        )
    return text.replace("\0", "").replace("\ufeff", "")


def find_delimiter(lines: Sequence[str]) -> str:
    """Return the character that parts the cells of a text, empty when only blanks do."""
    used = [line for line in lines if line.strip()]
    numeric = [line for line in used if re.search(r"\d", line)] or used
    scores = {mark: _score(mark, used, numeric) for mark in _DELIMITERS}
    best = max(_DELIMITERS, key=lambda mark: scores[mark])
    return best if scores[best] > 0 else ""


def _score(mark: str, used: Sequence[str], numeric: Sequence[str]) -> float:
    """Return how well a delimiter explains a text: the share of lines with its usual count, times the cells gained."""
    counts = Counter(len(_split(line, mark)) for line in numeric)
    counts.pop(1, None)
    if not counts or not used:
        return 0.0
    columns, lines = max(counts.items(), key=lambda item: (item[1], item[0]))
    alike = sum(1 for line in used if len(_split(line, mark)) == columns)
    if lines < 0.3 * len(numeric) and alike < 2:
        return 0.0
    if mark == "," and _spaced_out(numeric):
        return 0.0
    return lines / len(numeric) * (columns - 1) * (1.0 if mark == "," else _SURER)


def _spaced_out(lines: Sequence[str]) -> bool:
    """Tell whether blanks part the cells, so that commas are decimal marks or stand between thousands."""
    return sum(1 for line in lines if re.search(r"[^,\s] {2,}[^,\s]", line)) >= 0.6 * len(lines)


def _split(line: str, mark: str) -> list[str]:
    try:
        return next(csv.reader([line.replace("\0", "")], delimiter=mark, skipinitialspace=True), [])
    except csv.Error:
        return line.split(mark)


def split_delimited(lines: Sequence[str], mark: str) -> list[tuple[Cell, ...]]:
    """Return the rows of delimited text; a quoted cell may run over a few lines, an open quote may not eat the file."""
    rows: list[tuple[Cell, ...]] = []
    at = 0
    while at < len(lines):
        end = at + 1
        if lines[at].count('"') % 2:
            end = _closing(lines, at)
        text = " ".join(lines[at:end])
        cells = _split(text, mark) if text.count('"') % 2 == 0 else text.replace('"', "").split(mark)
        rows.append(tuple(Cell(" ".join(cell.split()), at + 1, c) for c, cell in enumerate(cells, 1)))
        at = end
    return rows


def _closing(lines: Sequence[str], at: int) -> int:
    """Return the line after the one that closes the quote opened in line `at`, or the next line if none does soon."""
    for end in range(at + 1, min(at + _JOINED_LINES, len(lines))):
        if lines[end].count('"') % 2:
            return end + 1
    return at + 1


def _chunks(line: str) -> list[Chunk]:
    line = line.expandtabs(8)
    return [(match.start(), match.end(), match[0]) for match in re.finditer(r"\S+(?: \S+)*", line)]


def aligned_rows(lines: Sequence[tuple[int, list[Chunk]]]) -> tuple[tuple[tuple[Cell, ...], ...], bool]:
    """Return rows of cells from lines of chunks, columns told apart by position.

    Parameters
    ----------
    lines : line number and chunks of each line.

    Returns
    -------
    The rows, and whether every chunk fell into a column of its own.
    """
    columns = _columns([chunks for _, chunks in lines if len(chunks) > 1])
    rows: list[tuple[Cell, ...]] = []
    aligned = True
    for number, chunks in lines:
        if len(chunks) == 1 and not _fits(columns, chunks[0]):
            rows.append((Cell(chunks[0][2], number, 1),))
            continue
        places = [_place(columns, chunk) for chunk in chunks]
        if len(set(places)) < len(places):
            aligned, places = False, list(range(len(chunks)))
        row = {place: chunk[2] for place, chunk in zip(places, chunks, strict=True)}
        rows.append(tuple(Cell(row.get(c, ""), number, c + 1) for c in range(max(row) + 1)))
    return tuple(rows), aligned


def _columns(lines: Sequence[list[Chunk]]) -> list[tuple[float, float]]:
    """Return the spans of the columns: chunks that overlap from line to line belong together."""
    spans: list[tuple[float, float]] = []
    for start, end in sorted((start, end) for chunks in lines for start, end, _ in chunks):
        if spans and start < spans[-1][1]:
            spans[-1] = (spans[-1][0], max(spans[-1][1], end))
        else:
            spans.append((start, end))
    return spans


def _place(columns: Sequence[tuple[float, float]], chunk: Chunk) -> int:
    overlaps = [min(chunk[1], end) - max(chunk[0], start) for start, end in columns]
    return max(range(len(columns)), key=lambda at: overlaps[at]) if columns else 0


def _fits(columns: Sequence[tuple[float, float]], chunk: Chunk) -> bool:
    """Tell whether a chunk alone in its line lies within one column; a title runs across several."""
    return sum(1 for start, end in columns if min(chunk[1], end) > max(chunk[0], start)) == 1
