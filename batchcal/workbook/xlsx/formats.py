"""What the formats of cells tell about their content: what is made of a number, and whether it is struck through."""

from typing import NamedTuple

from batchcal.workbook.xlsx.number_formats import MAX_FORMAT_CHARACTERS, Form, form_by_number, form_of
from batchcal.workbook.xlsx.package import MAX_SMALL_PART_BYTES, Package, shown
from batchcal.workbook.xlsx.stream import Stream

MAX_FORMATS = 100_000
"""Formats of cells in a workbook; spreadsheet programs take some 65 000."""

_NOT_TRUE = ("0", "false")


class Format(NamedTuple):
    """The format of a cell, as far as it bears on what the cell holds."""

    form: Form = Form.NUMBER
    struck: bool = False


def cell_formats(package: Package) -> list[Format]:
    """Return the formats that cells refer to by number; WorkbookError where their part is damaged.

    A workbook without formats has the plain one.
    """
    part = package.related("styles")
    if part is None:
        return [Format()]
    if package.size(part) > MAX_SMALL_PART_BYTES:
        raise package.refused(f"its part {shown(part)} is {package.size(part) / 1e6:.0f} MB large; refused")
    return _Styles(Stream(package, part)).read() or [Format()]


class _Styles:
    """Reads the part of formats. It is small, so the way from its outermost element is kept as names."""

    def __init__(self, stream: Stream) -> None:
        self._stream = stream
        self._way: list[str] = []
        self._codes: dict[int, str] = {}
        self._struck: list[bool] = []
        self._formats: list[tuple[int, int]] = []

    def read(self) -> list[Format]:
        self._stream.read("styleSheet", lambda: (self._start, self._end))
        return [self._format(index, *ids) for index, ids in enumerate(self._formats)]

    def _format(self, index: int, number_format: int, font: int) -> Format:
        code = self._codes.get(number_format)
        form = form_by_number(number_format) if code is None else form_of(code)
        if not self._struck and not font:  # some programs write no fonts at all
            return Format(form)
        if font >= len(self._struck):
            raise self._stream.damaged(f"has a format {index} of a font {font}, and no such font")
        return Format(form, self._struck[font])

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition("}")
        if f"{space}}}" != self._stream.space:
            self._stream.skip()
            return
        self._way.append(local)
        match self._way:
            case ["numFmts" | "fonts" | "cellXfs"] | ["fonts", "font"]:
                if local == "font":
                    self._struck.append(False)
            case ["numFmts", "numFmt"]:
                self._add_code(attributes)
            case ["fonts", "font", "strike"]:
                self._struck[-1] = attributes.get("val", "1").strip() not in _NOT_TRUE
            case ["cellXfs", "xf"]:
                if len(self._formats) >= MAX_FORMATS:
                    raise self._stream.damaged(f"has more than {MAX_FORMATS} formats, which no program takes")
                self._formats.append((self._number(attributes, "numFmtId"), self._number(attributes, "fontId")))
            case _:
                self._way.pop()
                self._stream.skip()

    def _end(self, _name: str) -> None:
        # The last end is that of the outermost element, which is not on the way.
        if self._way:
            self._way.pop()

    def _add_code(self, attributes: dict[str, str]) -> None:
        number, code = self._number(attributes, "numFmtId"), attributes.get("formatCode", "General")
        if len(code) > MAX_FORMAT_CHARACTERS:
            raise self._stream.damaged(f"has a number format of {len(code)} characters")
        if self._codes.setdefault(number, code) != code:
            raise self._stream.damaged(f"has two number formats {number}")

    def _number(self, attributes: dict[str, str], name: str) -> int:
        text = attributes.get(name, "0").strip()
        if not (text.isascii() and text.isdigit() and len(text) <= 9):
            raise self._stream.damaged(f"has {name} {shown(text)!r}, which is no number")
        return int(text)
