"""What the checker of records says of a value, in words that other languages have where it says it often."""

from __future__ import annotations

import re

from loamery.say import Verbatim, say

OFTEN = {
    one[:]: one
    for one in (
        say("should be a valid number"),
        say("should be a valid integer"),
        say("should be a finite number"),
        say("should be a date with year, month and day"),
    )
}


def refused_words(message: str) -> str:
    """Return a message of the checker, such as ``should be greater than 0``."""
    shown = re.sub(r"datetime\.date\((\d+), (\d+), (\d+)\)", r"\1-\2-\3", message)
    shown = shown.replace("Input should be", "should be").replace("String should match pattern", "should match")
    end = Verbatim(shown.rpartition(" ")[2])
    known = (
        say("should be greater than or equal to {end}", end=end),
        say("should be less than or equal to {end}", end=end),
        say("should be greater than {end}", end=end),
        say("should be less than {end}", end=end),
    )
    named = shown.removeprefix("should be ")
    if named.startswith("'"):
        return say("should be {choices}", choices=joined_choices(named))
    return next((one for one in known if one == shown), OFTEN.get(shown, shown))


def joined_choices(named: str) -> str:
    """Return the words a cell may hold, the last after an “or” of the reader's language."""
    first, _or, last = named.rpartition(" or ")
    return say("{first} or {last}", first=first, last=last) if first else last
