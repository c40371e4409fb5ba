"""What a number format makes of a number: a number, a percentage, a date or a time, a length of time."""

import re
from enum import Enum, auto
from functools import lru_cache

MAX_FORMAT_CHARACTERS = 512
"""Characters of one format; spreadsheet programs take 255."""

_LITERAL = re.compile(r'"[^"]*"|[\\_*].', re.DOTALL)


class Form(Enum):
    """What is shown of a number."""

    NUMBER = auto()
    PER_CENT = auto()
    DATE = auto()
    """A date, a time of day, or both."""
    DURATION = auto()
    """Hours, minutes or seconds that may run beyond a day: [h]:mm."""


_SHOWN_AS_IT_IS = re.compile(r'".*?"|\[(?!(?:h{1,2}|m{1,2}|s{1,2})\])[^\]]*\]')
"""Of a date's format what stands in quotes, and in square brackets colours, places and languages."""
_PART_OF_A_DATE = re.compile(r"(?<![_\\])[dmhysDMHYS]")
_BEYOND_A_DAY = re.compile(r"\[(?:h{1,2}|m{1,2}|s{1,2})\]", re.IGNORECASE)

_DATES = frozenset((*range(14, 23), 45, 47))
_DURATIONS = frozenset((46,))
_PERCENTAGES = frozenset((9, 10))
"""Formats that have a number alone; all others below 50 show a number or a text (ECMA-376 Part 1, 18.8.30)."""

_DATES_OF_THE_EAST = frozenset((*range(27, 37), *range(50, 59), *range(71, 82)))
_PERCENTAGES_OF_THE_EAST = frozenset((67, 68))
"""Formats by number alone in Chinese, Japanese, Korean and Thai (ECMA-376 Part 1, 18.8.30; from memory, unchecked)."""


@lru_cache(maxsize=1024)
def form_of(code: str) -> Form:
    """Return what the format ``code`` makes of a number; of its sections the first counts for dates."""
    first = code.partition(";")[0]
    if _PART_OF_A_DATE.search(_SHOWN_AS_IT_IS.sub("", first)):
        return Form.DURATION if _BEYOND_A_DAY.search(first) else Form.DATE
    # A sign in quotes or behind a backslash is shown as it is, and the number with it.
    return Form.PER_CENT if "%" in _LITERAL.sub("", code) else Form.NUMBER


def form_by_number(number: int) -> Form:
    """Return what a format makes of a number that has only a number itself; one that is not known shows it as it is."""
    if number in _DATES or number in _DATES_OF_THE_EAST:
        return Form.DATE
    if number in _DURATIONS:
        return Form.DURATION
    return Form.PER_CENT if number in _PERCENTAGES or number in _PERCENTAGES_OF_THE_EAST else Form.NUMBER
