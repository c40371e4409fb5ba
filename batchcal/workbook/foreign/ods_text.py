"""The text of a cell in an OpenDocument spreadsheet: paragraphs, with blanks, tabs and line breaks spelt out."""

import re

from batchcal.workbook.foreign.ods_cells import OFFICE

TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0}"

MAX_TEXT = 1_000_000
"""Characters of one text as stored. A cell holds 32 767 in spreadsheet programs."""

_BLANKS = re.compile(r"[ \t\r\n]+")
_KEPT = str.maketrans({"\0": " ", "\1": "\t", "\2": "\n"})
"""Signs that no XML can hold stand for what is spelt out, until the blanks around have been drawn together."""
_PARAGRAPHS = (f"{TEXT}p", f"{TEXT}h")
_NO_TEXT = (f"{OFFICE}annotation", f"{OFFICE}annotation-end", f"{TEXT}note", f"{TEXT}ruby-text", f"{TEXT}bookmark")


class Paragraphs:
    """Gathers the text of one cell. Comments, shapes and notes in it are no text of the cell."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._pieces: list[str] = []
        self._depth = 0
        self._length = 0

    @property
    def text(self) -> str | None:
        """The text, its paragraphs as lines; None where the cell has no paragraph."""
        return "\n".join(self._lines) if self._lines else None

    @property
    def is_too_long(self) -> bool:
        """Whether the text is longer than any that a spreadsheet program writes."""
        return self._length > MAX_TEXT

    def start(self, name: str, attributes: dict[str, str]) -> bool:
        """Take in the start of an element within the cell; False where it is no text, and to be passed over."""
        if not self._depth:
            if name not in _PARAGRAPHS:
                return False
        elif name in _NO_TEXT or not name.startswith(TEXT):
            return False
        self._depth += 1
        if name == f"{TEXT}s":
            count = attributes.get(f"{TEXT}c", "1")
            self.add("\0" * (int(count) if count.isascii() and count.isdigit() and len(count) <= 6 else 1))
        elif name == f"{TEXT}tab":
            self.add("\1")
        elif name == f"{TEXT}line-break":
            self.add("\2")
        return True

    def end(self) -> bool:
        """Take in the end of an element; False where it is the end of the cell itself."""
        if not self._depth:
            return False
        self._depth -= 1
        if not self._depth:
            line = _BLANKS.sub(" ", "".join(self._pieces)).strip(" ")
            self._lines.append(line.translate(_KEPT))
            self._pieces = []
        return True

    def add(self, text: str) -> None:
        """Take in text; between the paragraphs there is none."""
        if self._depth:
            self._pieces.append(text)
            self._length += len(text)
