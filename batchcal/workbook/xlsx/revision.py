"""A package with what is added to it: every part that is not named here goes over with its bytes as they are."""

import zipfile
from collections.abc import Callable, Iterable, Iterator
from itertools import count
from posixpath import dirname, relpath
from typing import BinaryIO, NoReturn

from batchcal.workbook.xlsx.markup import Node, Outline, Part, quoted
from batchcal.workbook.xlsx.package import (
    CHUNK,
    CONTENT_TYPES_PART,
    RELATIONSHIPS,
    STRICT_RELATIONSHIPS,
    Package,
    relationships_part,
)

try:
    from isal import isal_zlib as deflate
except ImportError:  # it is not made for every machine; zlib packs the same, in three times the time
    import zlib as deflate  # type: ignore[no-redef]

_RIGHTS = 0o644 << 16

_LEVEL = 1
"""How hard parts are packed. On a long log level 6 of zlib takes three times the time and saves a fifth of it."""


class Revision:
    """What is to be written into a package: edits of its parts, and new parts."""

    def __init__(self, package: Package) -> None:
        self.package = package
        self._parts: dict[str, Part] = {}
        self._roots: dict[str, tuple[Node, Outline]] = {}
        self._new: dict[str, Callable[[], Iterable[bytes]]] = {}
        self._identifiers: dict[str, set[str]] = {}

    def part(self, name: str) -> Part:
        """Return a part of the package to be edited; the same one whenever it is asked for."""
        name = self.package.spelt(name)
        if name not in self._parts:
            self._parts[name] = Part(self.package, name)
        return self._parts[name]

    def outline(self, name: str) -> tuple[Part, Node, Outline]:
        """Return a part, its root, and the outline that the root came from."""
        part = self.part(name)
        if part.name not in self._roots:
            outline = Outline(part)
            self._roots[part.name] = (outline.parsed(), outline)
        return part, *self._roots[part.name]

    def free_part(self, stem: str, ending: str) -> str:
        """Return a name for a new part, ``stem`` and a number, that no other part has."""
        taken = {name.casefold() for name in (*self.package.names, *self._new)}
        return next(name for number in count(1) if (name := f"{stem}{number}{ending}").casefold() not in taken)

    def add(self, name: str, make: Callable[[], Iterable[bytes]], content_type: str) -> None:
        """Add a new part with its content type; ``make`` is called once it is packed, and gives it piece by piece."""
        self._new[name] = make
        part, root, _ = self.outline(CONTENT_TYPES_PART)
        prefix = part.prefix(root)
        part.append(
            root, f'<{prefix}Override PartName="/{quoted(name)}" ContentType="{quoted(content_type)}"/>'
        )  # fmt: skip

    def relate(self, source: str, kind: str, target: str) -> str:
        """Add a relationship from one part to another and return its identifier."""
        part, root, _ = self.outline(relationships_part(source))
        taken = self._identifiers.setdefault(part.name, {each.attributes.get("Id", "") for each in root.children})
        identifier = next(name for number in count(1) if (name := f"rId{number}") not in taken)
        taken.add(identifier)
        base = STRICT_RELATIONSHIPS if self.package.strict else RELATIONSHIPS
        part.append(
            root,
            f'<{part.prefix(root)}Relationship Id="{identifier}" Type="{base}/{kind}" '
            f'Target="{quoted(relpath(target, dirname(source) or "."))}"/>',
        )
        return identifier

    def pack(self, out: BinaryIO) -> None:
        """Write the new package into an empty file, once; WorkbookError where it does not hold all of the old one.

        The parts stand in their order and bear their times; new ones stand at the end. The same content gives the
        same bytes.
        """
        changed = {name: part for name, part in self._parts.items() if part.changed}
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
            target.comment = self.package.remark
            for entry in self.package.entries:
                name = entry.filename
                edited = changed.get(name)
                if entry.is_dir():
                    target.writestr(_entry(entry, name), b"")
                else:
                    pieces = self.package.chunks(name) if edited is None else edited.edited_pieces()
                    _write(target, _entry(entry, name), pieces)
            workbook = self.package.spelt(self.package.workbook_part)
            like = next(entry for entry in self.package.entries if entry.filename == workbook)
            new = list(self._new)
            for name in new:
                _write(target, _entry(like, name), self._new.pop(name)())
        self._check(out, changed, new)

    def _check(self, out: BinaryIO, changed: dict[str, Part], new: list[str]) -> None:
        """Hold the result against the old package: with the edits taken out again it must be the same, byte by byte."""
        with zipfile.ZipFile(out) as written:
            names = [entry.filename for entry in written.infolist()]
            olds = [entry.filename for entry in self.package.entries]
            if names != olds + new:
                self._refuse("its list of parts")
            for entry in self.package.entries:
                now = written.getinfo(entry.filename)
                if entry.filename not in changed:
                    if (now.file_size, now.CRC) != (entry.file_size, entry.CRC) and not entry.is_dir():
                        self._refuse(entry.filename)
                elif not changed[entry.filename].holds(_read(written, now)):
                    self._refuse(entry.filename)

    def _refuse(self, part: str) -> NoReturn:
        raise self.package.refused(f"the results workbook would not hold all of yours ({part}); nothing is written")


def _write(target: zipfile.ZipFile, entry: zipfile.ZipInfo, pieces: Iterable[bytes]) -> None:
    with target.open(entry, "w") as part:
        if entry.compress_type == zipfile.ZIP_DEFLATED:
            # Nothing else tells it to ZipFile.open.
            part._compressor = deflate.compressobj(_LEVEL, deflate.DEFLATED, -deflate.MAX_WBITS)  # type: ignore[attr-defined]
        for piece in pieces:
            part.write(piece)


def _read(written: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Iterator[bytes]:
    with written.open(entry) as part:
        while piece := part.read(CHUNK):
            yield piece


def _entry(like: zipfile.ZipInfo, name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, like.date_time)
    same = name == like.filename
    entry.compress_type = like.compress_type if same else zipfile.ZIP_DEFLATED
    entry.create_system = like.create_system if same else 3
    entry.external_attr = like.external_attr if same else _RIGHTS
    entry.comment = like.comment if same else b""
    return entry
