"""An XML part as it stands: where its elements begin and end, and edits that leave every other byte alone."""

import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import islice
from typing import NamedTuple, TypeVar
from xml.parsers import expat
from zlib import crc32

from msgspec import Struct, field

from batchcal.workbook.xlsx.package import Package, shown, with_errors, xml_parser

_TAG = re.compile(rb"""</?[^\s/>]+(?:[^"'>]|"[^"]*"|'[^']*')*>""")
_VALUE = rb"""\s*=\s*(?:"([^"]*)"|'([^']*)')"""
_NAME = re.compile(rb"</?([^\s/>]+)")
_IN_NEED = re.compile("[&<>\"'\n\t\r]")
_UTF_16 = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"), (b"<\0", "utf-16-le"), (b"\0<", "utf-16-be"))
_AT_ONCE = 1_000
"""Pieces of a part that are put together at a time."""


class Edit(NamedTuple):
    """One change: the bytes from ``start`` to ``end`` give way to ``new``; an insertion where both are one place."""

    start: int
    end: int
    new: bytes


class _Later(NamedTuple):
    """Edits from ``start`` to ``end`` that are made, in the order of the part, when it is packed."""

    start: int
    end: int
    make: Callable[[], Iterable[Edit]]


class Node(Struct):
    """One element by its places in the part: its start tag, what is inside, its end tag."""

    space: str
    name: str
    """The name without its prefix."""
    attributes: Mapping[str, str]
    start: int
    inner: int
    """Where the start tag ends."""
    close: int = -1
    """Where the end tag begins; the same as ``end`` where the element is a single tag."""
    end: int = -1
    children: list["Node"] = field(default_factory=list)
    text: str = ""

    def child(self, name: str) -> "Node | None":
        """Return the first child of a name in the namespace of this element, or None."""
        return next((each for each in self.children if each.name == name and each.space == self.space), None)

    def named(self, name: str) -> list["Node"]:
        """Return the children of a name in the namespace of this element."""
        return [each for each in self.children if each.name == name and each.space == self.space]

    def walk(self) -> Iterator["Node"]:
        """Yield the element and everything inside it, in the order of the part."""
        waiting = [self]
        while waiting:
            node = waiting.pop()
            yield node
            waiting += reversed(node.children)


class Part:
    """An XML part, its places counted in UTF-8, and the edits that are to be made in it.

    Raises WorkbookError where the part is absent or no whole XML.
    """

    def __init__(self, package: Package, name: str) -> None:
        self.package = package
        self.name = name
        self._edits: list[Edit | _Later] = []
        self._made = _Made()
        raw = package.read(name)
        self._codec = _codec(raw)
        self.data = raw
        if self._codec is not None:
            try:
                self.data = raw.decode(self._codec).encode()
            except UnicodeError as error:
                raise package.refused(f"the workbook is damaged: {shown(name)} is no whole XML ({error})") from error
        # A part may say that it is in ASCII; characters beyond it can be written so, where it has none itself.
        self._ascii = self.data.isascii()

    def parser(self) -> expat.XMLParserType:
        """Return a parser for :attr:`data`."""
        return xml_parser(self.package, self.name, None if self._codec is None else "utf-8")

    def run(self, parse: Callable[[], object]) -> None:
        """Run a parse; WorkbookError where the part is damaged."""
        with_errors(self.package, self.name, parse)

    def tag_end(self, start: int) -> int:
        """Return where the tag that begins at ``start`` ends."""
        match = _TAG.match(self.data, start)
        if match is None:
            raise self.package.refused(f"the workbook is damaged: {shown(self.name)} is no whole XML")
        return match.end()

    def element_end(self, inner: int, close: int) -> int:
        """Return where an element ends: its start tag ends at ``inner``, and ``close`` is where its end was seen."""
        return inner if self.single(inner) else self.tag_end(close)

    def single(self, inner: int) -> bool:
        """Return whether the start tag that ends at ``inner`` is the whole element."""
        return self.data[inner - 2 : inner] == b"/>"

    def prefix(self, node: Node) -> str:
        """Return the prefix of an element with its colon, or nothing."""
        return _prefix(self.qualified(node.start))

    def qualified(self, start: int) -> str:
        """Return the name, prefix included, of the tag that begins at ``start``."""
        match = _NAME.match(self.data, start)
        if match is None:
            raise ValueError(f"no tag begins at {start}")
        return match[1].decode()

    def edit(self, start: int, end: int, text: str) -> Edit:
        """Return the edit that puts text in the place of what stands from ``start`` to ``end``."""
        return Edit(start, end, text.encode("ascii", "xmlcharrefreplace") if self._ascii else text.encode())

    def attribute(self, start: int, name: str, value: str) -> Edit:
        """Return the edit that gives a tag an attribute without a prefix, or another value of it; see set_attribute."""
        place = self._value_of(start, name)
        if place is not None:
            return self.edit(*place, quoted(value))
        behind = start + 1 + len(self.qualified(start).encode())
        return self.edit(behind, behind, f' {name}="{quoted(value)}"')

    def opened(self, start: int, end: int, text: str) -> Edit:
        """Return the edit that puts text inside the element that is a single tag from ``start`` to ``end``."""
        return self.edit(end - 2, end, f">{text}</{self.qualified(start)}>")

    def appended(self, node: Node, text: str) -> Edit:
        """Return the edit that puts text last inside an element, opening it where it is a single tag."""
        if node.close != node.end:
            return self.edit(node.close, node.close, text)
        return self.opened(node.start, node.end, text)

    def insert(self, at: int, text: str) -> None:
        """Insert text; of several insertions at one place the first comes first."""
        self._edits.append(self.edit(at, at, text))

    def replace(self, start: int, end: int, text: str) -> None:
        """Put text in the place of what stands from ``start`` to ``end``."""
        self._edits.append(self.edit(start, end, text))

    def set_attribute(self, start: int, name: str, value: str) -> None:
        """Give the tag that begins at ``start`` an attribute without a prefix, or another value of it."""
        self._edits.append(self.attribute(start, name, value))

    def append(self, node: Node, text: str) -> None:
        """Insert text as the last thing inside an element, opening it where it is a single tag."""
        self._edits.append(self.appended(node, text))

    def edit_later(self, node: Node, make: Callable[[], Iterable[Edit]]) -> None:
        """Have edits inside an element made once the part is packed; they come in their order, and are not kept."""
        self._edits.append(_Later(node.start, node.end, make))

    def copied(self, node: Node, name: str, value: str) -> str:
        """Return a copy of an element with another value of an attribute that it has."""
        place = self._value_of(node.start, name)
        if place is None:
            raise ValueError(f"no attribute {name} at {node.start}")
        whole = self.data[node.start : place[0]] + quoted(value).encode() + self.data[place[1] : node.end]
        return whole.decode()

    def _value_of(self, start: int, name: str) -> tuple[int, int] | None:
        """Return where the value of an attribute stands, without its quotes; None where the tag has none."""
        match = _as_far_as(name).match(self.data, start)
        return None if match is None else match.span(match.lastindex or 0)

    @property
    def changed(self) -> bool:
        """Whether anything is to be changed."""
        return bool(self._edits)

    def edited(self) -> bytes:
        """Return the part with its edits, in its own encoding."""
        return b"".join(self.edited_pieces())

    def edited_pieces(self) -> Iterator[bytes]:
        """Yield the part with its edits piece by piece: of a long log it is too large to be put together."""
        if self._codec is not None:
            yield b"".join(self._pieces()).decode().encode(self._codec)
            return
        pieces = self._pieces()
        while some := list(islice(pieces, _AT_ONCE)):
            yield b"".join(some)

    def holds(self, edited: Iterable[bytes]) -> bool:
        """Return whether the pieces of the edited part are the part as it was once the edits are taken out again.

        The edits are those that :meth:`edited_pieces` has made; of each its length is known, of all their checksum.
        """
        if self._codec is not None:
            edited = (b"".join(edited).decode(self._codec).encode(),)
        written, made = _Pieces(edited), self._made
        done = checksum = 0
        for start, end, length in zip(made.starts, made.ends, made.lengths, strict=True):
            if written.take(start - done) != self.data[done:start]:
                return False
            checksum = crc32(written.take(length), checksum)
            done = end
        rest = written.take(len(self.data) - done)
        return rest == self.data[done:] and checksum == made.checksum and not written.take(1)

    def _pieces(self) -> Iterator[bytes | memoryview]:
        whole = memoryview(self.data)
        made = self._made = _Made()
        done = 0
        for edit in self._ordered():
            if edit.start < done:
                raise ValueError(f"{self.name}: two edits overlap at {edit.start}")
            yield whole[done : edit.start]
            yield edit.new
            made.add(edit)
            done = edit.end
        yield whole[done:]

    def _ordered(self) -> Iterator[Edit]:
        for edit in in_order(self._edits):
            if isinstance(edit, _Later):
                yield from edit.make()
            else:
                yield edit


class _Made:
    """The edits made when a part was packed: their places and lengths, and the checksum of what they put in."""

    def __init__(self) -> None:
        self.starts, self.ends, self.lengths = array("q"), array("q"), array("q")
        self.checksum = 0

    def add(self, edit: Edit) -> None:
        """Add the next one."""
        self.starts.append(edit.start)
        self.ends.append(edit.end)
        self.lengths.append(len(edit.new))
        self.checksum = crc32(edit.new, self.checksum)


class _Pieces:
    """Bytes that come piece by piece, to be taken in other lengths."""

    def __init__(self, pieces: Iterable[bytes]) -> None:
        self._pieces = iter(pieces)
        self._piece = b""
        self._at = 0

    def take(self, length: int) -> bytes:
        """Return the next bytes, fewer where there are no more."""
        at = self._at
        self._at = at + length
        if self._at <= len(self._piece):
            return self._piece[at : self._at]
        taken = [self._piece[at:]]
        left = length - len(taken[0])
        for piece in self._pieces:
            taken.append(piece[:left])
            self._piece, self._at = piece, left
            left -= len(taken[-1])
            if not left:
                break
        else:
            self._piece, self._at = b"", 0
        return b"".join(taken)


class Outline:
    """The elements of a part as a tree of :class:`Node`; ``prefixes`` holds those that hold for the whole part."""

    def __init__(self, part: Part) -> None:
        self.part = part
        self.prefixes: dict[str, str] = {}
        self.passed_over = 0
        """Bytes that the parser was not given."""
        self.root: Node | None = None
        self.stack: list[Node] = []
        self.parser = part.parser()
        self.parser.StartNamespaceDeclHandler = self._declared
        self.watch()

    def watch(self) -> None:
        """Take the parser's events as an outline does."""
        self.parser.StartElementHandler = self.started
        self.parser.EndElementHandler = self.ended
        self.parser.CharacterDataHandler = self.text

    def parsed(self) -> Node:
        """Parse the whole part and return its root."""
        self.part.run(self.parse)
        if self.root is None:
            raise self.part.package.refused(f"the workbook is damaged: {shown(self.part.name)} is empty")
        return self.root

    def parse(self) -> None:
        """Give the parser the whole part."""
        self.parser.Parse(self.part.data, True)

    def place(self) -> int:
        """Return where in the part the parser is."""
        return self.parser.CurrentByteIndex + self.passed_over

    def started(self, name: str, attributes: Mapping[str, str]) -> None:
        """Take the start of an element."""
        start = self.place()
        space, _, local = name.rpartition("}")
        node = Node(space, local, attributes, start, self.part.tag_end(start))
        if self.stack:
            self.stack[-1].children.append(node)
        else:
            self.root = node
        self.stack.append(node)

    def ended(self, _name: str) -> None:
        """Take the end of an element."""
        node = self.stack.pop()
        node.end = self.part.element_end(node.inner, self.place())
        node.close = node.inner if node.end == node.inner else self.place()

    def text(self, text: str) -> None:
        """Take character data."""
        self.stack[-1].text += text

    def _declared(self, prefix: str | None, uri: str) -> None:
        if self.root is None:
            self.prefixes[uri] = f"{prefix}:" if prefix else ""


Placed = TypeVar("Placed", bound=Edit | _Later)


def in_order(edits: Iterable[Placed]) -> list[Placed]:
    """Return edits in the order of the part; of several at one place the first comes first."""
    return sorted(edits, key=lambda edit: (edit.start, edit.end))


def place_in_order(root: Node, name: str, order: Sequence[str]) -> int:
    """Return where a child of ``root`` belongs that is to be added, by the order that the schema gives."""
    before = set(order[: order.index(name)])
    return max((each.end for each in root.children if each.name in before and each.space == root.space),
               default=root.inner)  # fmt: skip


def escape(text: str) -> str:
    """Return text as it stands between tags. The library's own, ``xml.sax.saxutils``, loads a client for the web."""
    return text.replace("&", "&amp;").replace(">", "&gt;").replace("<", "&lt;")


def quoted(value: str) -> str:
    """Return text as it stands in an attribute."""
    if _IN_NEED.search(value) is None:
        return value
    # One sign after the other: str.translate takes four times as long.
    text = escape(value).replace('"', "&quot;").replace("'", "&apos;")
    return text.replace("\n", "&#10;").replace("\t", "&#9;").replace("\r", "&#13;")


@cache
def _as_far_as(name: str) -> re.Pattern[bytes]:
    """Return a pattern for a start tag as far as the value of an attribute without a prefix."""
    others = rb"""(?:\s+[^\s=]+\s*=\s*(?:"[^"]*"|'[^']*'))*?"""
    return re.compile(rb"<[^\s/>]+%b\s+%b%b" % (others, re.escape(name.encode()), _VALUE))


def _prefix(qualified: str) -> str:
    prefix, colon, _ = qualified.rpartition(":")
    return prefix + colon


def _codec(raw: bytes) -> str | None:
    """Return the codec of a part in UTF-16; None for any other, which is UTF-8 or refused by its parser."""
    return next((codec for mark, codec in _UTF_16 if raw.startswith(mark)), None)
