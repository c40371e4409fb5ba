"""What laboratories write in their headings: variants by field and language, and the words around them.

Usage of the trade, in no standard: two files beside this module, ``heading_variants.csv`` and ``heading_words.toml``,
each fact of the mark "common practice, no source". Nothing here is written by the program; it is only recognised.
"""

import csv
import io
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from msgspec import Struct

READ_BY_US = "read by us"
PROPOSAL_ONLY = "proposal only"


class Variant(Struct, frozen=True):
    """One way in which a field is headed; ``ambiguous_with`` are other fields that are headed so as well."""

    field: str
    language: str
    text: str
    ambiguous_with: tuple[str, ...] = ()


class Language(Struct, frozen=True):
    """A language of the variants; ``standing`` says whether the variants in it were read and found right."""

    key: str
    name: str
    standing: str

    @property
    def read_by_us(self) -> bool:
        """Whether its variants count without being asked."""
        return self.standing == READ_BY_US


@cache
def variants() -> tuple[Variant, ...]:
    """Return every variant, in the order of the file; ValueError for a language that is not listed."""
    rows = csv.DictReader(io.StringIO(_text("heading_variants.csv")))
    found = tuple(
        Variant(row["field"], row["language"], row["variant"], tuple(row["ambiguous_with"].split())) for row in rows
    )
    unknown = {variant.language for variant in found} - set(languages())
    if unknown:
        raise ValueError(f"heading_variants.csv: no standing is known for the languages {sorted(unknown)}")
    return found


@cache
def languages() -> Mapping[str, Language]:
    """Return the languages by their keys; ValueError for a standing that is none."""
    found = {key: Language(key, entry["name"], entry["standing"]) for key, entry in _words()["languages"].items()}
    odd = [key for key, language in found.items() if language.standing not in (READ_BY_US, PROPOSAL_ONLY)]
    if odd:
        raise ValueError(f"heading_words.toml: the standing of {odd} is neither {READ_BY_US!r} nor {PROPOSAL_ONLY!r}")
    return MappingProxyType(found)


@cache
def ambiguous() -> Mapping[str, tuple[str, ...]]:
    """Return the headings that mean different things, each with the fields that it may mean."""
    return MappingProxyType({heading: tuple(fields) for heading, fields in _words()["ambiguous"].items()})


@cache
def basis_words() -> Mapping[str, tuple[str, ...]]:
    """Return the words that name a basis, by the basis: ad, d, ar, daf."""
    return MappingProxyType({basis: tuple(words) for basis, words in _words()["basis"].items()})


def words(kind: str) -> tuple[str, ...]:
    """Return the words of a kind: mass, benzoic, calibration or check; KeyError for any other."""
    return tuple(_words()["words"][kind])


def parts() -> tuple[tuple[str, ...], ...]:
    """Return the series of signs by which headings name test portions."""
    return tuple(tuple(series) for series in _words()["words"]["parts"])


def mark() -> str:
    """Return how well these facts are known."""
    return str(_words()["mark"])


@cache
def _words() -> dict[str, Any]:
    return tomllib.loads(_text("heading_words.toml"))


def _text(name: str) -> str:
    return (resources.files("batchcal.reference") / name).read_text(encoding="utf-8")
