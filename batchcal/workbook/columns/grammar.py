"""The parts of a heading: name, unit, basis, and which test portion it is for, however they are written.

``[mass of] noun [qualifier] [basis] [unit] [number]``: the unit in brackets, behind a comma, a slash or "in", on a row
of its own below, or alone. Levels of headings that stand above one another are joined by " | ".
"""

import re
import unicodedata
from functools import cache, lru_cache

from msgspec import Struct

from batchcal import units
from batchcal.reference import headings as known

LEVEL = " | "
"""Between the levels of a heading that stand above one another."""

_ONE_SIGN = str.maketrans(
    {"º": "°", "˚": "°", "∆": "Δ", "△": "Δ", "▲": "Δ", "’": "'", "´": "'", "`": "'", "–": "-", "—": "-", "−": "-"}
)
_PER_CENT = re.compile(
    r"(?:wt|mass|m|ma|gew|w)[.\s-]*-?\s*%|%\s*(?:wt|w/w|m/m|mass|by mass|\(?m/m\)?)|m/m\s*%|mass\s*%", re.IGNORECASE
)
_NOT_READ = frozenset({"°f", "ppm", "in", "inch", "l", "oz", "lb", "torr", "mmhg"})
"""Units that are known for what they are and read nowhere."""

_STRENGTHS = {"mol/l": "mol/L", "mol/dm3": "mol/L", "m": "mol/L", "eq/l": "eq/L", "n": "eq/L", "val/l": "eq/L"}
_ALONE = frozenset(
    {
        *(
            "°c",
            "°f",
            "g",
            "mg",
            "kg",
            "mm",
            "cm",
            "ml",
            "cm3",
            "cc",
            "%",
            "mpa",
            "kpa",
            "bar",
            "atm",
            "kgf/cm2",
            "psi",
        ),
        *("j/k", "kj/k", "cal/k", "kcal/k", "j/°c", "kj/°c", "cal/°c", "kcal/°c", "mol/l", "eq/l"),
        *("j/g", "kj/g", "kj/kg", "mj/kg", "cal/g", "kcal/kg", "btu/lb"),
    }
)
"""Units that are taken as such where they stand behind a name with nothing but a blank between."""

_QUANTITIES = tuple(quantity for quantity in units.QUANTITIES if quantity != "time span")
"""A "d" in a heading is no day but a basis."""

_BRACKETS = re.compile(r"\s*[(\[{]([^()\[\]{}]*)[)\]}]\s*")
_GLUED = re.compile(r"(?:Q|q)?[A-Za-z]{1,4}?[\s_,.]*(?:gr|net|p|v|t)?[\s_,.]*(ad|daf|ar|db|d)", re.ASCII)
_IDEOGRAPHS = re.compile("[\u3040-\u30ff\u3400-\u9fff\uac00-\ud7af]")


class Heading(Struct, frozen=True):
    """A heading taken apart; ``name`` is folded, without the unit. ``basis``, ``part``: "" where none is named."""

    text: str
    name: str
    unit: str = ""
    basis: str = ""
    part: str = ""
    """Sign of the test portion that a closing number or letter may mean, folded."""

    @property
    def short(self) -> bool:
        """Whether its name has one or two letters only, so that nothing is taken on it alone."""
        return sum(2 if _IDEOGRAPHS.match(sign) else 1 for sign in self.name if sign.isalnum()) <= 2

    @property
    def without_part(self) -> str:
        """The name without the sign of the test portion."""
        return self.name.removesuffix(self.part).strip() if self.part else self.name


def fold(text: str) -> str:
    """Return words with case, accents, blanks and the many forms of one sign folded together, on one level."""
    text = unicodedata.normalize("NFKC", text.translate(_ONE_SIGN)).casefold()
    text = "".join(_plain(sign) for sign in text).replace("ß", "ss")
    text = re.sub(r"\s*\+\s*", " + ", re.sub(r"[.]", "", text))
    text = re.sub(r"[-_,;:·*|()\[\]{}\"?!]+", " ", text)
    return re.sub(r"\s+", " ", text).strip()


@lru_cache(maxsize=50_000)
def tidy(text: str) -> str:
    """Return a heading on one line with plain blanks, as it is kept in a map and compared."""
    text = unicodedata.normalize("NFKC", text.translate(_ONE_SIGN)).replace("°\u0421", "°C").replace("° C", "°C")
    return re.sub(r"\s+", " ", "".join(" " if unicodedata.category(c) == "Cc" else c for c in text)).strip()


@cache
def parse(text: str) -> Heading:
    """Take a heading apart."""
    unit, names = "", []
    levels = [level.strip() for level in tidy(text).split(LEVEL.strip())]
    for level in levels:
        rest, found = _without_unit(level, alone=len(levels) == 1)
        unit = found or unit
        if rest:
            names.append(rest)
    whole = " ".join(names)
    name = fold(whole) or fold(text)
    return Heading(text, name, unit, _basis(whole, name), _part(name))


@cache
def unit_of(text: str) -> str:
    """Return a unit as it is shown if ``text`` is one, known or read, else ""."""
    text = tidy(text).strip(" .")
    if text in ("%", "") or _PER_CENT.fullmatch(text):
        return "%" if text else ""
    plain = units.normalise(text)
    if plain in _STRENGTHS:
        return _STRENGTHS[plain] if len(plain) > 1 else text
    if plain in _NOT_READ:
        return text
    return next((found.text for quantity in _QUANTITIES if (found := units.read(text, quantity))), "")


def strength(unit: str) -> str:
    """Return the unit of a titrant's strength, "mol/L" or "eq/L", or "" where ``unit`` is none."""
    return _STRENGTHS.get(units.normalise(unit), "")


def _without_unit(level: str, *, alone: bool) -> tuple[str, str]:
    """Return one level without its unit, and the unit; one letter alone is a name, below another level a unit."""
    for match in _BRACKETS.finditer(level):
        unit = unit_of(match[1])
        if unit:
            return f"{level[: match.start()]} {level[match.end() :]}".strip(), unit
    unit = unit_of(level)
    if unit and (len(level) > 1 or not alone):
        return "", unit
    if level.startswith("%") and len(level) > 1:
        return level[1:].strip(), "%"
    per_cent = _PER_CENT.search(level)
    if per_cent is not None and per_cent.end() == len(level) and per_cent.start():
        return level[: per_cent.start()].strip(), "%"
    head, _, tail = level.rpartition(" ")
    if head and units.normalise(tail) in _ALONE:
        return head.removesuffix(" in").strip(" ,/:"), unit_of(tail)
    for match in re.finditer(r"\s*(?:,|/|:|\bin\b)\s*", level):
        head, tail = level[: match.start()].strip(), level[match.end() :].strip()
        if head and unit_of(tail) and head.count("(") == head.count(")") and not _is_ratio(match[0], head):
            return head, unit_of(tail)
    if level.endswith("%") and len(level) > 1:
        return level[:-1].strip(), "%"
    first, _, _ = level.partition(" ")
    return level, "mL" if first.casefold() == "ml" else ""


def _is_ratio(sign: str, head: str) -> bool:
    """Whether a slash stands within a unit, and not between a name and its unit."""
    return sign.strip() == "/" and bool(unit_of(head)) and head.casefold() != "m"


def _basis(whole: str, name: str) -> str:
    """Return the basis that a heading names, or ""."""
    found = [
        (name.rfind(f" {word}"), basis)
        for basis, words in known.basis_words().items()
        for word in words
        if f" {name} ".find(f" {word} ") > 0
    ]
    if found:
        return max(found)[1]
    match = _GLUED.fullmatch(tidy(whole).replace("(", "").replace(")", ""))
    return {"db": "d"}.get(match[1], match[1]) if match is not None else ""


def _part(name: str) -> str:
    last = name.rpartition(" ")[2]
    for series in known.parts():
        if last in series and last != name:
            return last
    glued = re.fullmatch(r"[^\W\d]+(\d)", last)
    return glued[1] if glued is not None and glued[1] in known.parts()[0] else ""


def _plain(sign: str) -> str:
    """Return a letter of the Latin, Greek or Cyrillic alphabet without its marks."""
    parts = unicodedata.normalize("NFKD", sign)
    return parts[0] if len(parts) > 1 and (parts[0] < "\u0530" or "\u1e00" <= parts[0] < "\u2000") else sign
