"""Files that are broken or mean harm, each with what must come of it.

Every module in ``MODULES`` has ``cases()``, which yields a :class:`hostile.case.Case` for each of its files. More
modules may be added to the list; names must stay unique.
"""

from collections.abc import Iterator
from itertools import chain

from hostile import archives, books, cells, markup, other_files
from hostile.case import Case

MODULES = (other_files, archives, markup, books, cells)


def all_cases() -> Iterator[Case]:
    """Yield every case there is."""
    return chain.from_iterable(module.cases() for module in MODULES)
