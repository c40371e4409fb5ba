"""What the styles of an OpenDocument spreadsheet tell about the content of cells: struck through, shown as per cent."""

from msgspec import Struct

STYLE = "urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_NUMBER = "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0}"

_LINES = (f"{STYLE}text-line-through-style", f"{STYLE}text-line-through-type")


class _Style(Struct):
    parent: str
    data_style: str | None
    struck: bool | None = None


class Styles:
    """The styles of cells by their names, gathered from the elements of both parts that hold styles."""

    def __init__(self) -> None:
        self._styles: dict[str, _Style] = {}
        self._percentages: set[str] = set()
        self._open: _Style | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take in the start of an element; whatever is no style of cells is passed over."""
        if name == f"{STYLE}style":
            self._open = None
            if attributes.get(f"{STYLE}family") == "table-cell":
                parent = attributes.get(f"{STYLE}parent-style-name", "")
                self._open = _Style(parent, attributes.get(f"{STYLE}data-style-name"))
                self._styles[attributes.get(f"{STYLE}name", "")] = self._open
        elif name == f"{STYLE}text-properties" and self._open is not None:
            lines = [attributes[line] for line in _LINES if line in attributes]
            if lines:
                self._open.struck = any(line != "none" for line in lines)
        elif name.startswith(_NUMBER):
            self._open = None
            if name == f"{_NUMBER}percentage-style":
                self._percentages.add(attributes.get(f"{STYLE}name", ""))

    def struck(self, name: str) -> bool:
        """Return whether text of this style is struck through."""
        return next((style.struck for style in self._line(name) if style.struck is not None), False)

    def per_cent(self, name: str) -> bool:
        """Return whether numbers of this style are shown as per cent."""
        data_style = next((style.data_style for style in self._line(name) if style.data_style is not None), None)
        return data_style in self._percentages

    def _line(self, name: str) -> list[_Style]:
        """Return a style and those that it goes back to, the nearest first."""
        line: list[_Style] = []
        style = self._styles.get(name)
        while style is not None and not any(style is seen for seen in line):
            line.append(style)
            style = self._styles.get(style.parent)
        return line
