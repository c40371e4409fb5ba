"""The short way through the rows of a sheet: those that are written like many before them need no parser.

A long log has few shapes of rows (:mod:`row_shapes`). The parser takes every row until one shape has come often
enough; from there on a pattern takes the rows of that shape, and the parser whatever else stands between them. It goes
on only where the parser stands between two rows, and ends for good as soon as it does not.
"""

import re
from collections import Counter

from batchcal.workbook.grid import PackedRow
from batchcal.workbook.xlsx.references import LAST_ROW, UnfitError
from batchcal.workbook.xlsx.row_shapes import Shape, Written, row_tail, written
from batchcal.workbook.xlsx.rows import RowReader
from batchcal.workbook.xlsx.stored import Stored
from batchcal.workbook.xlsx.stream import Stream

_IN_UTF_8 = re.compile(
    rb"""<worksheet|(?:\xef\xbb\xbf)?<\?xml version=["']1\.0["'](?: encoding=["']utf-8["'])?[ ?]""", re.I
)
_ROWS, _END_OF_ROW = b"<sheetData>", b"</row>"
_FEW = 48
"""Rows of a sheet so short that it is parsed before a pattern would pay."""
_OFTEN = 12
"""Rows of a shape that come before its pattern is made, which costs as much as to parse a few dozen."""
_MOST_SHAPES = 30
"""Shapes that are tried on a row."""
_ROOM_FOR_PATTERNS = 300_000
"""Characters of all patterns of a sheet: a hundred of usual rows, and none of rows that are absurdly wide."""
_MOST_SEEN = 1_000
_LONGEST_ROW = 2_000_000
"""Bytes without the end of a row after which no more rows of this kind are expected."""


class PlainRows:
    """Reads the rows of one sheet that need no parser, and has all else parsed."""

    def __init__(self, stream: Stream, reader: RowReader, stored: Stored) -> None:
        self._stream = stream
        self._reader = reader
        self._stored = stored
        self._begun = self._ended = False
        self._rest = b""
        """Bytes behind the last whole row, not yet parsed."""
        self._tails: set[str] = {""}
        """What may stand behind the number at the beginning of a row."""
        self._seen: Counter[Written] = Counter()
        self._shapes: list[Shape] = []
        self._room = _ROOM_FOR_PATTERNS
        self._likely: Shape | None = None

    def feed(self, chunk: bytes) -> None:
        """Take the next bytes of the part."""
        data = self._rest + chunk
        self._rest = b""
        if not self._begun:
            self._begun = True
            data = self._begin(data)
        if self._ended:
            self._stream.parse(data)
            return
        end = data.rfind(_END_OF_ROW) + len(_END_OF_ROW)
        if end < len(_END_OF_ROW):
            self._rest = data
            self._ended = len(data) > _LONGEST_ROW
            return
        self._rest = data[end:]
        try:
            text = data[:end].decode()
        except UnicodeDecodeError:
            self._ended = True
            self._stream.parse(data[:end])
            return
        at = 0
        while at < len(text) and not self._ended:
            at = self._by_pattern(text, at)
            if at < len(text):
                at = self._by_parser(text, at)
        if at < len(text):
            self._stream.parse(text[at:].encode())

    def end(self) -> None:
        """Have all that is left parsed."""
        self._stream.parse(self._rest)
        self._rest = b""

    def _begin(self, data: bytes) -> bytes:
        """Have all parsed that stands before the rows, and return the rest."""
        at = data.find(_ROWS) if _IN_UTF_8.match(data) and data.count(_END_OF_ROW) > _FEW else -1
        if at < 0:
            self._ended = True
            return data
        end = at + len(_ROWS)
        self._stream.parse(data[:end])
        # The element is that of the rows only if the parser says so, and its names are then those of the others.
        self._ended = self._reader.ended != at
        return data[end:]

    def _by_pattern(self, text: str, at: int) -> int:
        """Read rows as long as their shapes are known, and return where the first other one begins."""
        shape = self._likely
        if shape is None:
            return at
        last, filled = self._reader.last(), 0
        rows: dict[int, PackedRow] = {}
        tails, shared = self._tails, self._reader.shared_formula
        end = len(text)
        while at < end:
            match = shape.following.match(text, at)
            if match is not None:
                shape = shape.following
            else:
                for other in self._shapes:
                    match = other.match(text, at)
                    if match is not None:
                        shape.following = shape = other
                        break
                else:
                    break
            digits, tail, *stored = match.groups()
            number = int(digits)
            if not last < number <= LAST_ROW or tail not in tails:
                break
            try:
                rows[number] = PackedRow(shape.filled, shape.contents(stored, number, shared))
            except UnfitError:
                break
            last = number
            filled += len(shape.filled.columns)
            at = match.end()
        self._likely = shape
        self._reader.add(rows, filled)
        return at

    def _by_parser(self, text: str, at: int) -> int:
        """Have the next row parsed with all that stands before it, learn its shape, and return where it ends."""
        end = text.index("</row>", at) + len(_END_OF_ROW)
        row = text[at:end]
        self._stream.parse(row.encode())
        if self._reader.ended != self._stream.parsed - len(_END_OF_ROW):
            self._ended = True
        else:
            self._learn(row)
        return end

    def _learn(self, row: str) -> None:
        how = written(row) if len(row) <= self._room else None
        if how is None or len(how.pattern) > self._room:
            return
        if len(self._tails) < _MOST_SEEN:
            self._tails.add(row_tail(row))
        if len(self._seen) < _MOST_SEEN or how in self._seen:
            self._seen[how] += 1
        if self._seen[how] == _OFTEN:
            self._room -= len(how.pattern)
            shape = Shape(how, self._stored)
            self._shapes.insert(0, shape)
            del self._shapes[_MOST_SHAPES:]
            self._likely = self._likely or shape
