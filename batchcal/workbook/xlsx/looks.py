"""How cells look, as a styles part says it: fonts, fills, borders, alignments, and the named styles made of them."""

from typing import Literal

from msgspec import Struct


class Font(Struct, frozen=True):
    """A font; its size in points."""

    name: str
    size: float
    colour: str
    bold: bool = False
    italic: bool = False
    underlined: bool = False

    def markup(self, prefix: str) -> str:
        """Return the font as it stands in the part."""
        p = prefix
        bold = f'<{p}b val="1"/>' if self.bold else ""
        italic = f'<{p}i val="1"/>' if self.italic else ""
        underlined = f'<{p}u val="single"/>' if self.underlined else ""
        ink = f'{_colour(p, "color", self.colour)}<{p}sz val="{self.size:g}"/>'
        return f'<{p}font><{p}name val="{self.name}"/>{bold}{italic}{ink}{underlined}</{p}font>'


class Side(Struct, frozen=True):
    """A line along one side of a cell."""

    line: Literal["thin", "medium"]
    colour: str


class Border(Struct, frozen=True):
    """The lines about a cell."""

    top: Side | None = None
    bottom: Side | None = None

    def markup(self, prefix: str) -> str:
        """Return the border as it stands in the part."""
        sides = "".join(
            f'<{prefix}{name} style="{side.line}">{_colour(prefix, "color", side.colour)}</{prefix}{name}>'
            for name, side in (("top", self.top), ("bottom", self.bottom))
            if side is not None
        )
        return f"<{prefix}border>{sides}</{prefix}border>" if sides else f"<{prefix}border/>"


class Alignment(Struct, frozen=True):
    """Where the content of a cell stands; ``indent`` in steps off the side."""

    horizontal: str = ""
    vertical: str = ""
    wrapped: bool = False
    indent: int = 0

    def markup(self, prefix: str) -> str:
        """Return the alignment as it stands in the part; "" where it says nothing."""
        words = {
            "horizontal": self.horizontal,
            "vertical": self.vertical,
            "wrapText": "1" if self.wrapped else "",
            "indent": str(self.indent or ""),
        }
        said = "".join(f' {name}="{word}"' for name, word in words.items() if word)
        return f"<{prefix}alignment{said}/>" if said else ""


class Style(Struct, frozen=True):
    """A named style of cells; ``fill`` is the colour of a plain one, "" for none."""

    name: str
    font: Font
    fill: str = ""
    border: Border = Border()
    alignment: Alignment = Alignment()


def fill_markup(colour: str, prefix: str) -> str:
    """Return a plain fill as it stands in the part."""
    p = prefix
    shade = _colour(p, "fgColor", colour)
    return f'<{p}fill><{p}patternFill patternType="solid">{shade}</{p}patternFill></{p}fill>'


def _colour(prefix: str, name: str, colour: str) -> str:
    return f'<{prefix}{name} rgb="00{colour}"/>'
