"""An XML part read once from its beginning to its end, with bounds on what no honest part has."""

from collections.abc import Callable
from typing import Protocol
from xml.parsers import expat

from batchcal.errors import WorkbookError
from batchcal.workbook.xlsx.package import MAIN, MAX_DEPTH, STRICT_MAIN, Package, shown, too_deep, xml_parser

MAX_TEXT = 1_000_000
"""Characters of one text as stored. A cell holds 32 767 in spreadsheet programs, each written with seven at most."""

MAX_TAG_BYTES = 8_000_000
"""Bytes of one tag or comment; the parser looks at all of it again with every piece that arrives."""

_AT_ONCE = MAX_TEXT // 2
"""Bytes that are parsed before the bounds are looked at again."""

Start = Callable[[str, dict[str, str]], None]
End = Callable[[str], None]
Handlers = tuple[Start, End]


class Aside(Protocol):
    """Who reads of a part what needs no parser, byte by byte in its order."""

    def feed(self, chunk: bytes) -> None:
        """Take the next bytes of the part."""

    def end(self) -> None:
        """Have all that is left parsed."""


class Stream:
    """One part on its way through the parser: who handles its elements now, and the text that has been read.

    Raises WorkbookError, and nothing else, where the part is damaged or beyond its bounds; whatever its handlers
    raise goes through.
    """

    def __init__(self, package: Package, part: str) -> None:
        self.package = package
        self.part = part
        self.space = ""
        """The namespace of the part with the sign that parts it from the names in it; known once its root is."""
        self.pieces: list[str] = []
        """The text since the list was last emptied. Who reads a text empties it before."""
        self.parsed = 0
        """Bytes that are parsed so far."""
        self._handlers: Handlers = (_nothing_begins, nothing)
        self._parser = xml_parser(package, part)
        self._parser.CharacterDataHandler = self.pieces.append

    def refused(self, reason: str) -> WorkbookError:
        """Return the error that says why the workbook is refused."""
        return self.package.refused(reason)

    def damaged(self, what: str) -> WorkbookError:
        """Return the error of a part that has something which the part of a workbook cannot have."""
        return self.refused(f"the workbook is damaged: {shown(self.part)} {what}")

    def unknown(self, name: str) -> WorkbookError:
        """Return the error of an element where none of its name can be."""
        return self.damaged(f"has an element {shown(name.rpartition('}')[2])} where none can be")

    def handle(self, start: Start, end: End) -> None:
        """Have the elements from here on handled by these two."""
        self._handlers = start, end
        self._parser.StartElementHandler = start
        self._parser.EndElementHandler = end

    def handlers(self) -> Handlers:
        """Return who handles the elements now."""
        return self._handlers

    def skip(self) -> None:
        """Pass over the element that has just begun, with all that stands in it; then whoever handled goes on."""
        before = self.handlers()
        depth = 1

        def start(_name: str, _attributes: dict[str, str]) -> None:
            nonlocal depth
            depth += 1
            if depth > MAX_DEPTH:
                raise too_deep(self.package, self.part)

        def end(_name: str) -> None:
            nonlocal depth
            depth -= 1
            if not depth:
                self._parser.CharacterDataHandler = self.pieces.append
                self.handle(*before)

        self._parser.CharacterDataHandler = None
        self.handle(start, end)

    def read(self, root: str, inside: Callable[[], Handlers], aside: Aside | None = None) -> None:
        """Parse the part, whose outermost element must be ``root``.

        ``inside`` is called when it begins, and returns who handles what stands in it, and its end. ``aside`` gets
        the bytes of the part and has those parsed (:meth:`parse`) that it does not read itself.
        """

        def begin(name: str, _attributes: dict[str, str]) -> None:
            if name not in (f"{MAIN}}}{root}", f"{STRICT_MAIN}}}{root}"):
                raise self.damaged(f"is no {root} of a workbook by its first element")
            self.space = name.removesuffix(root)
            self.handle(*inside())

        self.handle(begin, nothing)
        feed = self.parse if aside is None else aside.feed
        try:
            for chunk in self.package.chunks(self.part):
                feed(chunk)
            if aside is not None:
                aside.end()
            self._parser.Parse(b"", True)
        except expat.ExpatError as error:
            raise self.damaged(f"is no whole XML ({self._in_whole(error)})") from error

    def parse(self, data: bytes) -> None:
        """Parse the next bytes of the part."""
        for at in range(0, len(data), _AT_ONCE):
            piece = data[at : at + _AT_ONCE]
            self._parser.Parse(piece, False)
            self.parsed += len(piece)
            self._refuse_endless()

    def at(self) -> int:
        """Return where what is being handled begins, among the bytes that are parsed."""
        return self._parser.CurrentByteIndex

    def _in_whole(self, error: expat.ExpatError) -> expat.ExpatError:
        """Return an error of XML with its place in the whole part, bytes that were not parsed counted too."""
        try:
            whole = xml_parser(self.package, self.part)
            for chunk in self.package.chunks(self.part):
                whole.Parse(chunk, False)
            whole.Parse(b"", True)
        except expat.ExpatError as placed:
            return placed
        return error

    def _refuse_endless(self) -> None:
        if self.parsed - max(self._parser.CurrentByteIndex, 0) > MAX_TAG_BYTES:
            raise self.refused(f"its part {shown(self.part)} has a tag of more than {MAX_TAG_BYTES} bytes; refused")
        if sum(map(len, self.pieces)) > MAX_TEXT:
            raise self.text_too_long()

    def text_too_long(self) -> WorkbookError:
        """Return the error of a text that is longer than any that a spreadsheet program writes."""
        return self.refused(f"its part {shown(self.part)} has a text of more than {MAX_TEXT} characters; refused")


def _nothing_begins(_name: str, _attributes: dict[str, str]) -> None:
    pass


def nothing(_name: str) -> None:
    """Do nothing at an end."""
