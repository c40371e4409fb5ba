"""A workbook's package: which parts it has, how they hang together, and what is refused before a part is parsed."""

import io
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from posixpath import dirname, join, normpath
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from batchcal.errors import WorkbookError

MAX_PARTS = 5_000
"""Parts that a package may have; a workbook with a hundred sheets and as many charts has about a thousand."""

MAX_UNPACKED_BYTES = 1_000_000_000
"""A package that unpacks to more is refused; a log of 100 000 firings unpacks to about a fifth of it."""

MAX_SMALL_PART_BYTES = 50_000_000
"""A part that is read as a tree (relationships, styles, the list of sheets) may not be larger."""

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT_MAIN = "http://purl.oclc.org/ooxml/spreadsheetml/main"
RELATIONSHIPS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_RELATIONSHIPS = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACKAGE_RELATIONSHIPS = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"

CONTENT_TYPES_PART = "[Content_Types].xml"


@dataclass(frozen=True, slots=True)
class Relationship:
    """One relationship: ``kind`` is the last word of its type, ``target`` the name of a part or a place outside."""

    identifier: str
    kind: str
    target: str
    external: bool


@dataclass(frozen=True, slots=True)
class SheetPart:
    """One sheet in the order of the workbook: its title, the part it is in, its relationship and its visibility."""

    title: str
    part: str
    kind: str
    """The last word of the relationship's type: worksheet, chartsheet, dialogsheet, xlMacrosheet ..."""
    identifier: str
    visible: bool


class Package:
    """The parts of a workbook. Raises WorkbookError with one line for a package that cannot be trusted."""

    def __init__(self, name: str, data: bytes) -> None:
        self.name = name
        self.data = data
        if not data:
            raise self.refused("the file is empty")
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, IndexError) as error:
            hint = "not a workbook" if not zipfile.is_zipfile(io.BytesIO(data)) else damaged(error)
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
        seen: set[str] = set()
        for info in infos:
            name = info.filename
            if name.casefold() in seen:
                raise self.refused(f"holds the part {_shown(name)} twice; save it again with a spreadsheet program")
            seen.add(name.casefold())
            if name.startswith("/") or "\\" in name or ".." in name.split("/") or ":" in name:
                raise self.refused(f"holds a part of an unsafe name ({_shown(name)}); refused")
            if info.flag_bits & 0x1:
                raise self.refused("the package is protected by a password; save a copy without one")
            if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise self.refused(f"the part {_shown(name)} is packed in a way that workbooks do not use; refused")
        if CONTENT_TYPES_PART.casefold() not in seen:
            raise self.refused("not a workbook")
        if any(name.startswith("_xmlsignatures/") for name in seen):
            raise self.refused("is digitally signed, and anything added would break the signature; save a copy without")

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names of the parts in the order in which they are packed, without folders."""
        return tuple(info.filename for info in self._zip.infolist() if not info.is_dir())

    @cached_property
    def _by_folded(self) -> Mapping[str, str]:
        # Names of parts are equal whatever their case (ECMA-376 Part 2, from memory, unchecked).
        return {name.casefold(): name for name in self.names}

    def has(self, part: str) -> bool:
        """Return whether there is a part of this name, in whatever case."""
        return part.casefold() in self._by_folded

    def read(self, part: str) -> bytes:
        """Return a part's bytes; WorkbookError where it is absent or damaged."""
        name = self._by_folded.get(part.casefold())
        if name is None:
            raise self.refused(f"the workbook is damaged: its part {_shown(part)} is missing")
        try:
            return self._zip.read(name)
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError) as error:
            raise self.refused(damaged(error)) from error

    def tree(self, part: str) -> Element:
        """Return a small part as a tree; WorkbookError where it is too large, damaged or declares entities."""
        data = self.read(part)
        if len(data) > MAX_SMALL_PART_BYTES:
            raise self.refused(f"its part {_shown(part)} is {len(data) / 1e6:.0f} MB large; refused")
        return self.parsed(data, part)

    def parsed(self, data: bytes, part: str) -> Element:
        """Return XML as a tree."""
        builder = TreeBuilder()
        parser = xml_parser(self, part)
        parser.StartElementHandler = lambda tag, attributes: builder.start(_clark(tag), _clarks(attributes))
        parser.EndElementHandler = lambda tag: builder.end(_clark(tag))
        parser.CharacterDataHandler = builder.data
        with_errors(self, part, lambda: parser.Parse(data, True))
        return builder.close()

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
        folder, name = dirname(part), part.rpartition("/")[2]
        path = join(folder, "_rels", f"{name}.rels")
        if not self.has(path):
            return {}
        found = {}
        for element in self.tree(path):
            external = element.get("TargetMode") == "External"
            target = element.get("Target", "")
            if not external:
                target = target.removeprefix("/") if target.startswith("/") else normpath(join(folder, target))
            kind = element.get("Type", "").rpartition("/")[2]
            identifier = element.get("Id", "")
            found[identifier] = Relationship(identifier, kind, target, external)
        return found

    @cached_property
    def workbook_part(self) -> str:
        """The part that lists the sheets; WorkbookError where there is none, or a binary workbook."""
        for relationship in self.relationships("").values():
            if relationship.kind == "officeDocument" and not relationship.external:
                if relationship.target.endswith(".bin"):
                    raise self.refused("a binary workbook (.xlsb); save it as .xlsx")
                return relationship.target
        raise self.refused("not a workbook")

    @cached_property
    def workbook(self) -> Element:
        """The tree of the part that lists the sheets."""
        root = self.tree(self.workbook_part)
        if local(root) != "workbook":
            raise self.refused("not a workbook")
        return root

    @property
    def strict(self) -> bool:
        """Whether the workbook is in the strict form of Open XML, whose namespaces differ."""
        return self.workbook.tag.startswith(f"{{{STRICT_MAIN}}}")

    @cached_property
    def sheets(self) -> tuple[SheetPart, ...]:
        """The sheets in their order; WorkbookError where two have one name or one is missing."""
        relationships = self.relationships(self.workbook_part)
        found: list[SheetPart] = []
        for element in self.workbook.iter():
            if local(element) != "sheet":
                continue
            title = element.get("name", "")
            identifier = next((value for key, value in element.attrib.items() if key.endswith("}id")), "")
            relationship = relationships.get(identifier)
            if relationship is None or relationship.external or not self.has(relationship.target):
                raise self.refused(f"the workbook is damaged: sheet {_shown(title)} is missing from it")
            if any(sheet.title.casefold() == title.casefold() for sheet in found):
                raise self.refused(f"has two sheets named {_shown(title)}; rename one")
            if any(sheet.part.casefold() == relationship.target.casefold() for sheet in found):
                raise self.refused(f"the workbook is damaged: two sheets share the part {_shown(relationship.target)}")
            visible = element.get("state", "visible") == "visible"
            found.append(SheetPart(title, relationship.target, relationship.kind, identifier, visible))
        return tuple(found)

    def related(self, kind: str) -> str | None:
        """Return the workbook's part of a kind (sharedStrings, styles ...), or None."""
        for relationship in self.relationships(self.workbook_part).values():
            if relationship.kind == kind and not relationship.external and self.has(relationship.target):
                return relationship.target
        return None


def xml_parser(package: Package, part: str) -> expat.XMLParserType:
    """Return a parser that refuses every document type: a workbook has none, and entities do harm."""
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        raise package.refused(f"its part {_shown(part)} declares a document type, which no workbook does; refused")

    parser.StartDoctypeDeclHandler = refuse
    return parser


def with_errors(package: Package, part: str, run: Callable[[], object]) -> None:
    """Run a parse and turn what the parser raises into the one line of a damaged workbook."""
    try:
        run()
    except expat.ExpatError as error:
        raise package.refused(f"the workbook is damaged: {_shown(part)} is no whole XML ({error})") from error
    except (ValueError, LookupError, UnicodeError) as error:
        raise package.refused(f"the workbook is damaged: {_shown(part)} cannot be read ({error})") from error


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


def _shown(name: str) -> str:
    text = "".join(character if character.isprintable() else "?" for character in name)
    return text if len(text) <= 60 else text[:59] + "…"
