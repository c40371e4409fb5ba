"""What a number format makes of a number: a number, a percentage, a date or a time, a length of time."""

import re
from enum import Enum, auto
from functools import lru_cache

from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format

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


_DATES_OF_THE_EAST = frozenset((*range(27, 37), *range(50, 59), *range(71, 82)))
_PERCENTAGES_OF_THE_EAST = frozenset((67, 68))
"""Formats by number alone in Chinese, Japanese, Korean and Thai (ECMA-376 Part 1, 18.8.30; from memory, unchecked)."""


@lru_cache(maxsize=1024)
def form_of(code: str) -> Form:
    """Return what the format ``code`` makes of a number."""
    if is_date_format(code):
        return Form.DURATION if is_timedelta_format(code) else Form.DATE
    # A sign in quotes or behind a backslash is shown as it is, and the number with it.
    return Form.PER_CENT if "%" in _LITERAL.sub("", code) else Form.NUMBER


def form_by_number(number: int) -> Form:
    """Return what a format makes of a number that has only a number itself; one that is not known shows it as it is."""
    if number in _DATES_OF_THE_EAST:
        return Form.DATE
    if number in _PERCENTAGES_OF_THE_EAST:
        return Form.PER_CENT
    return form_of(BUILTIN_FORMATS.get(number, "General"))
