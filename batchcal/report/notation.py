"""The decimal mark of the lab on everything that the page and the certificate say.

Every text is made with a point; here the finished view is gone through once. A figure in a cell or chart knows that it
is one (:class:`~batchcal.report.words.Figure`). In worded texts the numbers are found, and whatever the lab or a source
wrote itself stays as it is written: all of that is known, because it stands in the log, in the settings or among the
constants. What stands in quotation marks is what a cell holds, and stays too.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from batchcal.findings import Finding
from batchcal.model import Evaluation, Quantity
from batchcal.report.words import Figure
from batchcal.terms import DecimalMark

View = TypeVar("View")

_KEPT = frozenset(
    {
        "anchor", "beyond", "code", "firing", "fits", "input_file", "input_hash", "key", "kind", "label", "near",
        "relative", "reach", "readings", "sample", "slope", "settings_hash", "trace", "version", "where", "within",
    }
)  # fmt: skip
"""Fields of views that hold names, addresses, hashes or drawings, and never a figure."""

_OWN_WORDS = frozenset({"text", "message", "remedy"})
"""Fields of what is read and found that are worded by this program, figures and all."""

_NUMBER = r"(?<![\w.,:/])(?<!\w-)\d+\.\d+(?:e[+-]?\d+)?(?!\w|\.\d|[-/]\d)"
_QUOTED = r"(?<!\w)'[^']*'(?!\w)"
_HOLDS_POINT = re.compile(r"\d\.\d")


def in_notation(view: View, evaluation: Evaluation, constants: Iterable[Quantity] = (), *more: str) -> View:
    """Return a view with the decimal mark that Setup asks for; ``more`` are texts that are not to be altered."""
    mark = evaluation.settings.decimal_mark
    if mark is DecimalMark.POINT:
        return view
    literals = {*_texts(evaluation.batch), *_texts(evaluation.settings), *_texts(tuple(constants)), *more}
    literals.update(series.source for series in evaluation.series)
    literals.update(_texts(evaluation.release))
    converted: View = _converted(view, mark.sign, worded(mark.sign, literals))
    return converted


def worded(sign: str, literals: Iterable[str]) -> Callable[[str], str]:
    """Return what puts ``sign`` for the point in the numbers of a text, but for those inside ``literals``."""
    kept = sorted(
        {one.strip().removesuffix(".") for one in literals if _HOLDS_POINT.search(one)}, key=len, reverse=True
    )
    own = [rf"(?<![\w.])(?:{'|'.join(map(re.escape, kept))})(?!\w|\.\d)"] if kept else []
    pattern = re.compile("|".join([_QUOTED, *own, f"(?P<number>{_NUMBER})"]))
    return lambda text: pattern.sub(lambda m: m[0].replace(".", sign) if m["number"] else m[0], text)


def _texts(read: Any) -> Iterator[str]:
    """Yield every text that the lab or a source wrote, with a point between digits, from what was read."""
    if isinstance(read, str):
        if _HOLDS_POINT.search(read):
            yield read
    elif isinstance(read, Mapping):
        yield from _texts(tuple(read))
        yield from _texts(tuple(read.values()))
    elif isinstance(read, (tuple, frozenset)):
        for one in read:
            yield from _texts(one)
    elif isinstance(read, Struct) and not isinstance(read, Finding):
        for name in read.__struct_fields__:
            if name not in _OWN_WORDS:
                yield from _texts(getattr(read, name))


def _converted(view: Any, sign: str, words: Callable[[str], str]) -> Any:
    if isinstance(view, Figure):
        return Figure(view.replace(".", sign), view.number, view.full.replace(".", sign))
    if type(view) is str:  # not the words of closed lists, nor names
        return words(view)
    if isinstance(view, Finding):
        return replace(view, message=words(view.message), remedy=words(view.remedy))
    if isinstance(view, tuple):
        return tuple(_converted(one, sign, words) for one in view)
    if isinstance(view, Struct):
        names = [name for name in view.__struct_fields__ if name not in _KEPT]
        changed = {name: _converted(getattr(view, name), sign, words) for name in names}
        return replace(view, **changed)
    return view
