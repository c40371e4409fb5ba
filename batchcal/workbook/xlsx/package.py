"""A workbook's package: which parts it has, how they hang together, and what is refused before a part is parsed."""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping, Set
from functools import cached_property
from posixpath import dirname, join, normpath
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from msgspec import Struct

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import shortened

MAX_PARTS = 5_000
"""Parts that a package may have; a workbook with a hundred sheets and as many charts has about a thousand."""

MAX_UNPACKED_BYTES = 1_000_000_000
"""A package that unpacks to more is refused; a log of 100 000 firings unpacks to about a fifth of it."""

MAX_SMALL_PART_BYTES = 50_000_000
"""A part that is read as a tree (relationships, styles, the list of sheets) may not be larger."""

MAX_ELEMENTS = 1_000_000
"""Elements of a part that is read as a tree; each takes a hundred bytes and more."""

MAX_DEPTH = 250
"""Elements within elements; the deepest in a workbook's parts (drawings) stand some thirty deep."""

CHUNK = 1 << 18
"""Bytes of a part that are unpacked at a time."""

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT_MAIN = "http://purl.oclc.org/ooxml/spreadsheetml/main"
RELATIONSHIPS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_RELATIONSHIPS = "http://purl.oclc.org/ooxml/officeDocument/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"

CONTENT_TYPES_PART = "[Content_Types].xml"

MAX_RELATIONSHIPS = 100_000
"""Relationships of one part; spreadsheet programs take some 65 000 links on a sheet."""

MAX_TITLE = 255
"""Characters in the name of a sheet; spreadsheet programs take 31."""

_IDENTIFIERS = (f"{{{RELATIONSHIPS}}}id", f"{{{STRICT_RELATIONSHIPS}}}id")
_WORKBOOK_TYPES = (
    "spreadsheetml.sheet.main+xml",
    "spreadsheetml.template.main+xml",
    "ms-excel.sheet.macroenabled.main+xml",
    "ms-excel.template.macroenabled.main+xml",
    "ms-excel.addin.macroenabled.main+xml",
)
"""Endings, in folded case, of the content types of the part that lists the sheets."""

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_CENTRAL_ENTRY = b"PK\x01\x02"
_ENCODINGS = ("utf-8", "utf-16", "us-ascii")
_ZIP_ERRORS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    IndexError,
    NotImplementedError,
    OSError,
    OverflowError,
    ValueError,
)
"""What the library raises on archives that are broken in one way or another; only its own calls are so guarded."""


class Relationship(Struct, frozen=True):
    """One relationship: ``kind`` is the last word of its type, ``target`` the name of a part or a place outside."""

    identifier: str
    kind: str
    target: str
    external: bool


class SheetPart(Struct, frozen=True):
    """One sheet in the order of the workbook: its title, the part it is in, its relationship and its visibility."""

    title: str
    part: str
    kind: str
    """The last word of the relationship's type: worksheet, chartsheet, dialogsheet, xlMacrosheet ..."""
    identifier: str
    visible: bool


class Archive:
    """The parts of a zipped workbook. Raises WorkbookError with one line for one that cannot be trusted."""

    def __init__(self, name: str, data: bytes) -> None:
        self.name = name
        self.data = data
        if not data:
            raise self.refused("the file is empty")
        # Before the library makes an object of each entry.
        if data.count(_CENTRAL_ENTRY) > 2 * MAX_PARTS:
            raise self.refused(f"has more than {MAX_PARTS} parts, more than any log needs; refused")
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except _ZIP_ERRORS as error:
            hint = damaged(error) if zipfile.is_zipfile(io.BytesIO(data)) else "not a workbook, or one cut short"
            raise self.refused(hint) from error
        self._refuse_untrusted()

    def refused(self, reason: str) -> WorkbookError:
        """Return the error that says why this workbook is refused."""
        return WorkbookError(f"{self.name}: {reason}")

    def _refuse_untrusted(self) -> None:
        infos = self._zip.infolist()
        if len(infos) > MAX_PARTS:
            raise self.refused(f"has {len(infos)} parts, more than any log needs; refused")
        unpacked = sum(info.file_size for info in infos)
        if unpacked > MAX_UNPACKED_BYTES:
            raise self.refused(f"unpacks to {unpacked / 1e9:.1f} GB, more than any log needs; refused")
        if min((info.header_offset for info in infos), default=0):
            # Which of two archives in one file counts depends on the program.
            raise self.refused("the workbook is damaged: something else stands before its first part")
        seen: set[str] = set()
        for info in infos:
            name = info.filename
            if name.casefold() in seen:
                raise self.refused(f"holds the part {shown(name)} twice; save it again with a spreadsheet program")
            seen.add(name.casefold())
            if not name or name.startswith("/") or "\\" in name or ".." in name.split("/") or ":" in name:
                raise self.refused(f"holds a part of an unsafe name ({shown(name)}); refused")
            if info.flag_bits & 0x1:
                raise self.refused("the package is protected by a password; save a copy without one")
            if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise self.refused(f"the part {shown(name)} is packed in a way that workbooks do not use; refused")
        self._refuse_unfit(seen)

    def _refuse_unfit(self, parts: Set[str]) -> None:
        """Refuse an archive that is no workbook of the kind; ``parts`` are the names in folded case."""
        raise NotImplementedError

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names of the parts in the order in which they are packed, without folders."""
        return tuple(info.filename for info in self._zip.infolist() if not info.is_dir())

    @cached_property
    def _by_folded(self) -> Mapping[str, str]:
        # Names of parts are equal whatever their case (ECMA-376 Part 2, from memory, unchecked).
        return {name.casefold(): name for name in self.names}

    @property
    def entries(self) -> tuple[zipfile.ZipInfo, ...]:
        """What is packed, folders too, in its order: names, times and ways of packing."""
        return tuple(self._zip.infolist())

    @property
    def remark(self) -> bytes:
        """The remark on the archive as a whole."""
        return self._zip.comment

    def has(self, part: str) -> bool:
        """Return whether there is a part of this name, in whatever case."""
        return part.casefold() in self._by_folded

    def spelt(self, part: str) -> str:
        """Return the name of a part as it is packed; the name itself where there is none."""
        return self._by_folded.get(part.casefold(), part)

    def read(self, part: str) -> bytes:
        """Return a part's bytes; WorkbookError where it is absent or damaged."""
        return b"".join(self.chunks(part))

    def chunks(self, part: str) -> Iterator[bytes]:
        """Yield a part's bytes piece by piece; WorkbookError where it is absent, damaged or not of the size it claims.

        What a part unpacks to is never held at once, so that a size that lies costs no memory.
        """
        name = self._by_folded.get(part.casefold())
        if name is None:
            raise self.refused(f"the workbook is damaged: its part {shown(part)} is missing")
        try:
            info = self._zip.getinfo(name)
            left = info.file_size
            with self._zip.open(info) as stream:
                while data := stream.read(CHUNK):
                    left -= len(data)
                    yield data
        except _ZIP_ERRORS as error:
            raise self.refused(damaged(error)) from error
        if left:
            raise self.refused(f"the workbook is damaged: its part {shown(part)} is not of the size that it claims")

    def tree(self, part: str) -> Element:
        """Return a small part as a tree; WorkbookError where it is too large, damaged or declares entities."""
        size = self.size(part)
        if size > MAX_SMALL_PART_BYTES:
            raise self.refused(f"its part {shown(part)} is {size / 1e6:.0f} MB large; refused")
        return self.parsed(self.read(part), part)

    def size(self, part: str) -> int:
        """Return the bytes that a part claims to unpack to; 0 where there is none of the name."""
        name = self._by_folded.get(part.casefold())
        return 0 if name is None else self._zip.getinfo(name).file_size

    def parsed(self, data: bytes, part: str) -> Element:
        """Return XML as a tree."""
        builder = TreeBuilder()
        parser = xml_parser(self, part)
        depth = count = 0

        def start(tag: str, attributes: dict[str, str]) -> None:
            nonlocal depth, count
            depth += 1
            count += 1
            if depth > MAX_DEPTH:
                raise too_deep(self, part)
            if count > MAX_ELEMENTS:
                raise self.refused(f"its part {shown(part)} has more than {MAX_ELEMENTS} elements; refused")
            builder.start(_clark(tag), _clarks(attributes))

        def end(tag: str) -> None:
            nonlocal depth
            depth -= 1
            builder.end(_clark(tag))

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = builder.data
        with_errors(self, part, lambda: parser.Parse(data, True))
        return builder.close()


class Package(Archive):
    """A workbook in Open XML: how its parts hang together."""

    def _refuse_unfit(self, parts: Set[str]) -> None:
        if CONTENT_TYPES_PART.casefold() not in parts:
            other = {"mimetype", "content.xml"} <= parts
            end = " but an OpenDocument file under another ending; give it its own (.ods)" if other else ""
            raise self.refused(f"not a workbook{end}")
        if any(name.startswith("_xmlsignatures/") for name in parts):
            raise self.refused("is digitally signed, and anything added would break the signature; save a copy without")

    @cached_property
    def content_types(self) -> Mapping[str, str]:
        """The content type of each part by its name in folded case."""
        defaults: dict[str, str] = {}
        overrides: dict[str, str] = {}
        for element in self.tree(CONTENT_TYPES_PART):
            kind = element.get("ContentType", "")
            if local(element) == "Default":
                defaults[element.get("Extension", "").casefold()] = kind
            elif local(element) == "Override":
                overrides[element.get("PartName", "").removeprefix("/").casefold()] = kind
        ending = {name: name.rpartition(".")[2] for name in self._by_folded}
        return {name: overrides.get(name) or defaults.get(ending[name], "") for name in ending}

    def relationships(self, part: str) -> Mapping[str, Relationship]:
        """Return the relationships of a part ("" for the package itself) by their identifier."""
        path = relationships_part(part)
        if not self.has(path):
            return {}
        if path not in self._relationships:
            self._relationships[path] = self._read_relationships(dirname(part), path)
        return self._relationships[path]

    @cached_property
    def _relationships(self) -> dict[str, Mapping[str, Relationship]]:
        return {}

    def _read_relationships(self, folder: str, path: str) -> Mapping[str, Relationship]:
        found: dict[str, Relationship] = {}
        for element in self.tree(path):
            if local(element) != "Relationship":
                continue
            if len(found) >= MAX_RELATIONSHIPS:
                raise self.refused(f"{shown(path)} has more than {MAX_RELATIONSHIPS} relationships; refused")
            external = element.get("TargetMode") == "External"
            target = element.get("Target", "")
            if not external:
                target = target.removeprefix("/") if target.startswith("/") else normpath(join(folder, target))
            kind = element.get("Type", "").rpartition("/")[2]
            identifier = element.get("Id", "")
            if identifier in found:
                raise self.refused(f"the workbook is damaged: {shown(path)} has two relationships {shown(identifier)}")
            found[identifier] = Relationship(identifier, kind, target, external)
        return found

    @cached_property
    def workbook_part(self) -> str:
        """The part that lists the sheets; WorkbookError where there is none, or a binary workbook."""
        part = self._only("", "officeDocument")
        if part is None:
            raise self.refused("not a workbook")
        kind = self.content_types.get(part.casefold(), "").casefold()
        if part.endswith(".bin") or "binary" in kind:
            raise self.refused("a binary workbook (.xlsb); save it as .xlsx")
        if self.has(part) and not kind.endswith(_WORKBOOK_TYPES):
            raise self.refused(f"not a workbook: its part {shown(part)} says that it is {shown(kind) or 'of no type'}")
        return part

    @cached_property
    def workbook(self) -> Element:
        """The tree of the part that lists the sheets."""
        root = self.tree(self.workbook_part)
        if root.tag not in (f"{{{MAIN}}}workbook", f"{{{STRICT_MAIN}}}workbook"):
            raise self.refused("not a workbook")
        return root

    @property
    def strict(self) -> bool:
        """Whether the workbook is in the strict form of Open XML, whose namespaces differ."""
        return self.workbook.tag.startswith(f"{{{STRICT_MAIN}}}")

    @cached_property
    def counts_from_1904(self) -> bool:
        """Whether dates are counted from 1904 and not from 1900."""
        properties = next((element for element in self.workbook if local(element) == "workbookPr"), None)
        return properties is not None and properties.get("date1904") in ("1", "true")

    @cached_property
    def sheets(self) -> tuple[SheetPart, ...]:
        """The sheets in their order; WorkbookError where two have one name or one is missing."""
        relationships = self.relationships(self.workbook_part)
        found: list[SheetPart] = []
        titles: set[str] = set()
        parts: set[str] = set()
        space = self.workbook.tag.removesuffix("workbook")
        for element in self.workbook.iterfind(f"{space}sheets/{space}sheet"):
            title = element.get("name", "")
            if not title or len(title) > MAX_TITLE or _CONTROL.search(title):
                raise self.refused(f"the workbook is damaged: a sheet is named {shown(title) or 'nothing at all'}")
            identifier = next((element.attrib[key] for key in _IDENTIFIERS if key in element.attrib), "")
            relationship = relationships.get(identifier)
            if relationship is None or relationship.external or not self.has(relationship.target):
                raise self.refused(f"the workbook is damaged: sheet {shown(title)} is missing from it")
            if title.casefold() in titles:
                raise self.refused(f"has two sheets named {shown(title)}; rename one")
            if relationship.target.casefold() in parts:
                raise self.refused(f"the workbook is damaged: two sheets share the part {shown(relationship.target)}")
            titles.add(title.casefold())
            parts.add(relationship.target.casefold())
            visible = element.get("state", "visible") == "visible"
            found.append(SheetPart(title, relationship.target, relationship.kind, identifier, visible))
        return tuple(found)

    def related(self, kind: str) -> str | None:
        """Return the workbook's part of a kind (sharedStrings, styles ...), or None; WorkbookError where it has two."""
        part = self._only(self.workbook_part, kind)
        return part if part is not None and self.has(part) else None

    def _only(self, part: str, kind: str) -> str | None:
        targets = [each for each in self.relationships(part).values() if each.kind == kind and not each.external]
        if len({each.target.casefold() for each in targets}) > 1:
            raise self.refused(f"the workbook is damaged: it has {len(targets)} parts of the kind {kind}")
        return targets[0].target if targets else None


def is_package(data: bytes) -> bool:
    """Return whether a file is a package of Open XML, as every .xlsx and .xlsm workbook is."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return any(name.casefold() == CONTENT_TYPES_PART.casefold() for name in package.namelist())
    except _ZIP_ERRORS:
        return False


def xml_parser(package: Archive, part: str, encoding: str | None = None) -> expat.XMLParserType:
    """Return a parser that refuses every document type: a workbook has none, and entities do harm.

    ``encoding`` is for bytes in another encoding than the part says of itself.
    """
    parser = expat.ParserCreate(encoding, "}")
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        raise package.refused(f"its part {shown(part)} declares a document type, which no workbook does; refused")

    def check(_version: str, declared: str | None, _standalone: int) -> None:
        if declared is not None and declared.casefold() not in _ENCODINGS:
            raise package.refused(
                f"its part {shown(part)} is written in {shown(declared)}; a workbook's parts are in UTF-8 or UTF-16"
            )

    parser.StartDoctypeDeclHandler = refuse
    if encoding is None:
        parser.XmlDeclHandler = check
    return parser


def too_deep(package: Archive, part: str) -> WorkbookError:
    """Return the error of a part whose elements stand too deep in one another."""
    return package.refused(f"its part {shown(part)} has more than {MAX_DEPTH} elements within elements; refused")


def with_errors(package: Archive, part: str, run: Callable[[], object]) -> None:
    """Run a parse and turn what the parser raises into the one line of a damaged workbook."""
    try:
        run()
    except expat.ExpatError as error:
        raise package.refused(f"the workbook is damaged: {shown(part)} is no whole XML ({error})") from error


def relationships_part(part: str) -> str:
    """Return the name of the part that holds the relationships of ``part``."""
    return join(dirname(part), "_rels", f"{part.rpartition('/')[2]}.rels")


def local(element: Element) -> str:
    """Return an element's name without its namespace."""
    return element.tag.rpartition("}")[2]


def damaged(error: BaseException) -> str:
    """Return the words for a package that cannot be unpacked."""
    text = str(error).strip().splitlines()
    detail = f"{type(error).__name__}: {text[0][:80]}" if text else type(error).__name__
    return f"the workbook is damaged and cannot be read ({detail})"


def _clark(name: str) -> str:
    return "{" + name if "}" in name else name


def _clarks(attributes: dict[str, str]) -> dict[str, str]:
    return {_clark(key): value for key, value in attributes.items()}


def shown(name: str) -> str:
    """Return a name from a file, fit for a line of text and shortened."""
    text = "".join(character if character.isprintable() else "?" for character in name)
    return shortened(text, 60)
