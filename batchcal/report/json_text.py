"""JSON text written piece by piece: encoded by msgspec, laid out as by the standard library with an indent of 1."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice
from typing import BinaryIO, cast

from msgspec import json

_AT_ONCE = 250
"""Records that are taken together: enough to be fast, few enough to need no memory of note."""

_Holder = dict[str, object] | list[object] | tuple[object, ...]
_HOLDERS = frozenset({dict, list, tuple})


def write_json(out: BinaryIO, document: Mapping[str, object]) -> None:
    """Write a document as UTF-8 JSON with a line break at its end; an iterator in it is written as a list.

    Raises ValueError where a number is not finite: JSON has no such numbers, and msgspec would write null.
    """
    before = b"{\n "
    for key, value in document.items():
        out.write(before + json.encode(key) + b": ")
        if isinstance(value, Iterator):
            _write_list(out, value)
        else:
            out.write(_text(value))
        before = b",\n "
    out.write(b"\n}\n")


def _write_list(out: BinaryIO, records: Iterator[object]) -> None:
    opening, closing = b"[\n  ", b"\n ]"
    before = opening
    while chunk := list(islice(records, _AT_ONCE)):
        out.write(before + _text(chunk)[len(opening) : -len(closing)])
        before = b",\n  "
    out.write(b"[]" if before is opening else closing)


def _text(value: object) -> bytes:
    """Return the text of a value that stands one level down; within a text there are no line breaks."""
    _refuse_boundless([value])
    return json.format(json.encode(value), indent=1).replace(b"\n", b"\n ")


def _refuse_boundless(values: Iterable[object]) -> None:
    """Raise ValueError where one of the values, or one within them, is a number that is not finite."""
    values = list(values)
    if not all(map(math.isfinite, [value for value in values if type(value) is float])):
        raise ValueError("a number that is not finite has no place in JSON")
    holders = cast(Sequence[_Holder], [value for value in values if type(value) in _HOLDERS])
    if holders:
        within = [holder.values() if isinstance(holder, dict) else holder for holder in holders]
        _refuse_boundless(chain.from_iterable(within))
