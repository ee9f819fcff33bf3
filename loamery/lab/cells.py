"""One cell of a laboratory table: what its text says, as a number, a limit, a range, a date or words.

Nothing is converted here. What can be read in two ways stays in two ways: ``1,234`` is a thousand or a decimal
depending on the hand that wrote it, which only the rest of the document can tell (`decimal_style`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Literal

CellKind = Literal["blank", "number", "below", "above", "trace", "range", "date", "ambiguous", "text"]
DecimalStyle = Literal["point", "comma", "mixed", "unknown"]

DASHES = "‐‑‒–—―−﹣-"
_SPACES = "      \u00a0\u202f\u2009"
_NUMBER = r"(?:\d{1,3}(?:[ '’]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)*|[.,]\d+)(?:\s*[eE]\s*[+-]?\d{1,3}|\s*[x×*·]\s*10\s*\^?\s*[+-]?\d{1,2})?"
_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan janv enero ene januar",
            "feb fev fevr febr",
            "mar mrz maerz marz mars",
            "apr avr abr",
            "may mai mayo",
            "jun juin juni",
            "jul juil juli",
            "aug aout ago",
            "sep sept",
            "oct okt",
            "nov",
            "dec dez dic",
        ),
        start=1,
    )
    for name in names.split()
}
_NOT_FOUND = re.compile(
    r"^(?:n\.?\s?d\.?|b\.?d\.?l\.?|b\.?r\.?l\.?|b\.?q\.?l\.?|b\.?l\.?q\.?|n\.?n\.?|not? detect(?:ed|able)?|none detected|non[- ]?detect(?:ed)?|"
    r"below (?:the )?(?:detection|reporting|quantitation|quantification)(?: limit)?|below (?:dl|rl|mdl|lod|loq)|"
    r"under (?:the )?detection(?: limit)?|nicht nachweisbar|n\. ?b\.?|u\.?d\.?l\.?|<\s*(?:dl|rl|mdl|lod|loq|pql|ld|lq|bg|ng|nwg)|"
    r"non d[eé]tect[eé]e?s?|no detectado|absent|u)$",
    re.I,
)
_TRACE = re.compile(r"^(?:tr(?:\.|ace|aces|aza|azas)?|spuren?|present below quantitation)$", re.I)
_BELOW = re.compile(
    r"^(?:<|≤|<=|=<|‹|less than|under|below|moins de|weniger als|kleiner|inf\.? a|inférieur à|menor que|menos de)\s*",
    re.I,
)
_ABOVE = re.compile(r"^(?:>|≥|>=|=>|›|more than|over|above|plus de|mehr als|mayor que|greater than)\s*", re.I)
_LIMIT_INSIDE = re.compile(
    r"^(?P<word>.+?)\s*(?:[(\[]\s*(?:<|rl|mdl|lod|loq|dl)?\s*[=:@]?|<|@|at)\s*(?P<number>"
    + _NUMBER
    + r")\s*(?P<unit>[^\d)\]]*)[)\]]?$",
    re.I,
)
_MARKS = re.compile(r"(?:\s*(?:[*†‡§¶#]+|\([a-e*]\)|\[\d\]|[¹²³⁴⁵]+))+$")
_HEAD = re.compile(rf"^(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})(?P<rest>.*)$", re.S)
_POWER = re.compile(r"([x×*·]\s*10\s*)([⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
_LEADING = re.compile(r"(?:^[<>≤≥]?\s*[+-]?|±|\+/-)\s*(\d[\d .,']*\d)(?![\w.,/:-]*\d)")
_FLAG = re.compile(r"^(?P<flag>[UJBEHQD])$")


@dataclass(frozen=True)
class CellValue:
    """What one cell says.

    Parameters
    ----------
    kind : number, below or above a limit, trace, range, date, ambiguous, blank or plain text.
    value : the number, or the limit of below and above; None where there is none.
    low, high : ends of a range, or the two readings of an ambiguous number.
    sd : the figure after ±, same unit.
    unit : text after the number, as printed, e.g. ``%`` or ``mg/kg``.
    flag : a laboratory's letter after the number (J for estimated), or the sign before an ambiguous one; empty if none.
    options : readings a person can choose from where the text is a date.
    """

    kind: CellKind
    text: str = ""
    value: float | None = None
    low: float | None = None
    high: float | None = None
    sd: float | None = None
    unit: str = ""
    flag: str = ""
    options: tuple[str, ...] = ()


def tidy(text: str) -> str:
    """Return the text with one kind of space, dash, quote and angle mark."""
    for char in _SPACES:
        text = text.replace(char, " ")
    text = "".join("-" if char in DASHES else char for char in text)
    marks = str.maketrans({"’": "'", "‹": "<", "›": ">", "＜": "<", "＞": ">"})
    return re.sub(r"\s+", " ", text.translate(marks)).strip()


def decimal_style(texts: Iterable[str]) -> DecimalStyle:
    """Return which decimal mark a document uses, judged only from numbers that leave no doubt."""
    point = comma = False
    for text in texts:
        for number in _LEADING.findall(tidy(text)):
            mark = _sure_mark(number.strip())
            point, comma = point or mark == ".", comma or mark == ","
    if point and comma:
        return "mixed"
    return "point" if point else "comma" if comma else "unknown"


def _sure_mark(number: str) -> str:
    """Return the decimal mark of a number that cannot be read otherwise, else an empty string."""
    body = re.sub(r"(?<=\d)[ '](?=\d{3})", "", number)
    marks: list[str] = re.findall(r"[.,]", body)
    if not marks or " " in body:
        return ""
    if len(set(marks)) == 2:
        return marks[-1] if marks.count(marks[-1]) == 1 else ""
    if len(marks) > 1:
        return ("," if marks[0] == "." else ".") if _is_grouped(body, marks[0]) else ""
    whole, _, tail = body.partition(marks[0])
    if len(tail) != 3 or len(whole) > 3 or whole.startswith("0") or body != number:
        return marks[0]
    return ""


def _is_grouped(body: str, mark: str) -> bool:
    return re.fullmatch(rf"[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+", body) is not None


@cache
def parse_number(text: str, style: DecimalStyle) -> tuple[float, ...]:
    """Return every reading of a printed number: one when it is certain, two when it is not, none when it is not a number."""
    match = re.fullmatch(r"([+-]?)\s*(.*?)(?:\s*[eE]\s*([+-]?\d+)|\s*[x×*·]\s*10\s*\^?\s*([+-]?\d+))?", text)
    if match is None or not re.fullmatch(r"[\d.,' ]+", match[2] or ""):
        return ()
    scale = 10.0 ** int(match[3] or match[4] or 0) if abs(int(match[3] or match[4] or 0)) < 30 else None
    if scale is None:
        return ()
    sign = "-" if match[1] == "-" else ""
    power = f"e{int(match[3] or match[4])}" if match[3] or match[4] else ""
    return tuple(float(f"{sign}{plain}{power}") for plain in _plain(match[2].strip(), style))


def _plain(number: str, style: DecimalStyle) -> tuple[str, ...]:
    """Return the readings of an unsigned number with its marks, as Python would write them."""
    if " " in number or "'" in number:
        if not re.fullmatch(r"\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?", number):
            return ()
        return (re.sub(r"[ ']", "", number).replace(",", "."),)
    marks = re.findall(r"[.,]", number)
    if not marks:
        return (number,)
    first, last = marks[0], marks[-1]
    if len(marks) > 1:
        return _several_marks(number, first, last)
    if _sure_mark(number) or not _is_grouped(number, first):
        return (_as_decimal(number, first),) if re.fullmatch(r"\d*[.,]\d*", number) else ()
    decimal, thousand = _as_decimal(number, first), number.replace(first, "")
    known = {"point": ".", "comma": ","}.get(style)
    if known is None:
        return (decimal, thousand)
    return (decimal,) if known == first else (thousand,)


def _several_marks(number: str, first: str, last: str) -> tuple[str, ...]:
    if first == last:
        return (number.replace(first, ""),) if _is_grouped(number, first) else ()
    whole, _, tail = number.rpartition(last)
    if not _is_grouped(whole, first) or not tail.isdigit():
        return ()
    return (f"{whole.replace(first, '')}.{tail}",)


def _as_decimal(number: str, mark: str) -> str:
    whole, _, tail = number.partition(mark)
    return f"{whole or '0'}.{tail or '0'}"


@cache
def parse_cell(text: str, style: DecimalStyle = "point") -> CellValue:
    """Return what the text of a cell says.

    Parameters
    ----------
    text : the cell as printed.
    style : decimal mark of the document, from `decimal_style`.
    """
    plain = _MARKS.sub("", _POWER.sub(_power_plain, tidy(text))).strip()
    if not plain or re.fullmatch(
        r"[-.*]+|n/?a|none|nil reported|not (?:analy[sz]ed|tested|requested|determined|reported|measured)|n\.a\.|nr|/",
        plain,
        re.I,
    ):
        return CellValue("blank", text)
    for read in (_word, _dated, _bounded, _counted):
        if (found := read(plain, text, style)) is not None:
            return found
    return CellValue("text", text)


def _power_plain(match: re.Match[str]) -> str:
    raised = unicodedata.normalize("NFKC", match[2]).replace("−", "-")
    return f"{match[1]}^{raised}"


def _word(plain: str, text: str, style: DecimalStyle) -> CellValue | None:
    if _NOT_FOUND.match(plain):
        return CellValue("below", text)
    if _TRACE.match(plain):
        return CellValue("trace", text)
    match = _LIMIT_INSIDE.match(plain)
    if match and (_NOT_FOUND.match(match["word"].strip(" ,;")) or _TRACE.match(match["word"].strip(" ,;"))):
        values = parse_number(match["number"], style)
        kind: CellKind = "trace" if _TRACE.match(match["word"].strip(" ,;")) else "below"
        if len(values) == 1:
            return CellValue(kind, text, values[0], unit=match["unit"].strip())
    return None


def _bounded(plain: str, text: str, style: DecimalStyle) -> CellValue | None:
    for pattern, kind in ((_BELOW, "below"), (_ABOVE, "above")):
        match = pattern.match(plain)
        if match is None:
            continue
        inner = _counted(plain[match.end() :], text, style)
        if inner is None or inner.kind not in ("number", "ambiguous") or inner.sd is not None or inner.flag:
            return CellValue("text", text)
        if inner.kind == "ambiguous":
            return CellValue(
                "ambiguous", text, None, inner.low, inner.high, unit=inner.unit, flag="<" if kind == "below" else ">"
            )
        return CellValue("below" if kind == "below" else "above", text, inner.value, unit=inner.unit)
    return None


def _dated(plain: str, text: str, style: DecimalStyle) -> CellValue | None:
    """Read what a spreadsheet makes of 4-27 or 2.05: a day and a month, or a full date."""
    match = re.fullmatch(r"(\d{1,4})[-/. ]{1,2}([^\W\d_]{3,9})\.?(?:[-/. ]{1,2}(\d{2,4}))?", plain)
    if match and (month := month_number(match[2])):
        return date_cell(text, int(match[1]), month)
    match = re.fullmatch(r"([^\W\d_]{3,9})\.?[-/. ]{1,2}(\d{1,2})(?:,? (\d{4}))?", plain)
    if match and (month := month_number(match[1])):
        return date_cell(text, int(match[2]), month)
    match = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ][\d:.]+)?", plain)
    if match:
        return date_cell(text, int(match[3]), int(match[2]))
    match = re.fullmatch(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d{2})", plain)
    if match:
        return date_cell(text, int(match[1]), int(match[3]))
    match = re.fullmatch(r"(\d{1,2})/(\d{1,2})", plain)
    return date_cell(text, int(match[2]), int(match[1])) if match else None


def month_number(word: str) -> int:
    """Return 1 to 12 for the name of a month or its short form, 0 otherwise."""
    base = "".join(char for char in unicodedata.normalize("NFD", word.casefold()) if not unicodedata.combining(char))
    return _MONTHS.get(base) or (_MONTHS.get(base[:3], 0) if _is_month(base) else 0)


def _is_month(base: str) -> bool:
    full = (
        "january february march april june july august september october november december januar februar dezember "
        "oktober juillet janvier fevrier avril aout septembre octobre novembre decembre febrero marzo abril junio julio "
        "agosto septiembre octubre noviembre diciembre"
    )
    return base in full.split()


def date_cell(text: str, day: int, month: int) -> CellValue:
    """Return a date found where a number belongs, with the numbers it may have been."""
    low, high = sorted((day, month))
    options = (f"{low}-{high}", f"{month}.{day}", f"{day}.{month}", "leave out")
    return CellValue("date", text, None, float(low), float(high), options=tuple(dict.fromkeys(options)))


def real_date(when: date) -> CellValue:
    """Return the reading of a cell that holds a true date."""
    return date_cell(when.isoformat(), when.day, when.month)


def _counted(plain: str, text: str, style: DecimalStyle) -> CellValue | None:
    """Read a number with what follows it: ±, a range, a unit or a flag."""
    match = _HEAD.match(plain)
    if match is None:
        return None
    values = parse_number(match["sign"] + match["number"].strip(), style)
    rest = match["rest"].strip()
    if not values:
        return None
    if len(values) == 2:
        return CellValue("ambiguous", text, None, min(values), max(values), unit=rest if _is_unit_text(rest) else "")
    if not rest:
        return CellValue("number", text, values[0])
    return _trailing(values[0], rest, text, style)


def _trailing(value: float, rest: str, text: str, style: DecimalStyle) -> CellValue | None:
    spread = re.fullmatch(rf"(?P<unit>\D*?)\s*(?:±|\+/-|\+-)\s*(?P<sd>{_NUMBER})\s*(?P<tail>.*)", rest)
    if spread:
        sds = parse_number(spread["sd"], style)
        tail = spread["tail"].strip() or spread["unit"].strip()
        if len(sds) == 1 and _is_unit_text(tail) and not (spread["tail"].strip() and spread["unit"].strip()):
            # 2.05 mg/kg ± 5 % is a relative spread; leave it to a person
            relative = "%" in spread["tail"] and bool(spread["unit"].strip())
            return None if relative else CellValue("number", text, value, sd=sds[0], unit=tail)
        return None
    between = re.fullmatch(
        rf"(?P<unit>[^\d\s-]*)\s*(?:-|to|bis|à|a|\.\.\.?|…)\s*(?P<high>{_NUMBER})\s*(?P<tail>.*)", rest
    )
    if between and not re.fullmatch(r"[eE]", between["unit"] or "-"):
        highs = parse_number(between["high"], style)
        if len(highs) == 1 and _is_unit_text(between["tail"].strip()):
            low, high = sorted((value, highs[0]))
            return CellValue("range", text, None, low, high, unit=between["tail"].strip() or between["unit"].strip())
        return None
    flag = _FLAG.match(rest)
    if flag:
        if flag["flag"] == "U":
            return CellValue("below", text, value)
        return CellValue("number", text, value, flag=flag["flag"])
    return CellValue("number", text, value, unit=rest) if _is_unit_text(rest) else None


def _is_unit_text(rest: str) -> bool:
    """Tell whether what follows a number can be a unit: starts with a letter, % or slash and is short."""
    return not rest or (len(rest) <= 30 and re.match(r"[%‰#/°µμ]|[^\W\d_]", rest) is not None)


def decimals(text: str) -> int:
    """Return how many digits are printed after the decimal mark of the first number in a cell, 0 if none."""
    match = re.search(r"\d[.,](\d+)", tidy(text))
    return len(match[1]) if match else 0
