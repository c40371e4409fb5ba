"""Methods, limits, constants and sources: data files beside this module, each figure with its mark and source.

Nothing is known here that is not in a file: ``sources.toml`` holds the citations and the meaning of the marks,
``constants.toml`` the constants, ``methods/KEY.toml`` the figures of one method.
"""

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any

from msgspec import Struct


class Mark(StrEnum):
    """How well a figure is known."""

    VERIFIED = "verified"
    SECONDARY = "secondary"
    DERIVED = "derived"
    MEMORY = "from memory, unchecked"
    CONFLICT = "conflict"
    COMMON_PRACTICE = "common practice, no source"
    ENTERED = "entered by the laboratory"


class Constant(Struct, frozen=True):
    """One constant or limit of plausibility; ``source`` is a key of :func:`sources`."""

    key: str
    name: str
    value: float
    unit: str
    mark: Mark
    source: str
    note: str


class Figure(Struct, frozen=True):
    """One figure of a method, e.g. its repeatability limit; ``basis`` ("ad", "d") where the figure holds on one."""

    name: str
    value: float
    unit: str
    basis: str | None
    mark: Mark
    source: str
    note: str


class Method(Struct, frozen=True):
    """What is known of a method; a figure that is not known is absent from ``figures``."""

    key: str
    title: str
    edition: str
    note: str
    figures: Mapping[str, Figure]


def constant(key: str) -> Constant:
    """Return the constant of that key; KeyError where there is none."""
    return _constants()[key]


def constants() -> tuple[Constant, ...]:
    """Return every constant, in the order of the file."""
    return tuple(_constants().values())


def source(key: str) -> str:
    """Return the citation of a source; KeyError where there is none."""
    return sources()[key]


@cache
def sources() -> Mapping[str, str]:
    """Return every citation by its key."""
    return MappingProxyType(_load(_root() / "sources.toml")["sources"])


@cache
def marks() -> Mapping[Mark, str]:
    """Return what each mark says, in the order from best to least known."""
    return MappingProxyType({Mark(mark): text for mark, text in _load(_root() / "sources.toml")["marks"].items()})


def method(key: str) -> Method:
    """Return the method of that key; KeyError where there is none."""
    return _methods()[key]


def methods() -> tuple[Method, ...]:
    """Return every method, in the order of the keys."""
    return tuple(_methods().values())


@cache
def _constants() -> Mapping[str, Constant]:
    return parse_constants(_load(_root() / "constants.toml"), sources())


@cache
def _methods() -> Mapping[str, Method]:
    files = sorted((_root() / "methods").iterdir(), key=lambda file: file.name)
    return {
        key: parse_method(key, _load(file), sources())
        for file in files
        for key, dot, suffix in [file.name.rpartition(".")]
        if suffix == "toml"
    }


def parse_constants(table: Mapping[str, Any], known_sources: Mapping[str, str]) -> dict[str, Constant]:
    """Return the constants of a parsed file; ValueError for an unknown mark or source, or a missing or odd entry."""
    return {
        key: Constant(key=key, **_entry(f"constant {key}", entry, known_sources, {"name", *_COMMON}))
        for key, entry in table.items()
    }


def parse_method(key: str, table: Mapping[str, Any], known_sources: Mapping[str, str]) -> Method:
    """Return the method of a parsed file; ValueError for an unknown mark or source, or a missing or odd entry."""
    if not {"title", "edition", "note"} <= set(table) <= {"title", "edition", "note", "figures"}:
        raise ValueError(f"method {key}: title, edition and note are needed and figures allowed, not {sorted(table)}")
    figures = {
        name: Figure(**_entry(f"method {key}, {name}", {"basis": None, **entry}, known_sources, {*_COMMON, "basis"}))
        for name, entry in table.get("figures", {}).items()
    }
    return Method(key, table["title"], table["edition"], table["note"], MappingProxyType(figures))


_COMMON = frozenset({"name", "value", "unit", "mark", "source", "note"})


def _entry(what: str, entry: Mapping[str, Any], known_sources: Mapping[str, str], fields: set[str]) -> dict[str, Any]:
    if set(entry) != fields:
        raise ValueError(f"{what}: the entries are {sorted(entry)}, not {sorted(fields)}")
    if entry["source"] not in known_sources:
        raise ValueError(f"{what}: {entry['source']!r} is no key of sources.toml")
    if entry["mark"] not in set(Mark):
        raise ValueError(f"{what}: {entry['mark']!r} is no mark; the marks are {', '.join(Mark)}")
    if isinstance(entry["value"], bool) or not isinstance(entry["value"], int | float):
        raise ValueError(f"{what}: {entry['value']!r} is no number")
    return {**entry, "value": float(entry["value"]), "mark": Mark(entry["mark"])}


def _root() -> Traversable:
    return resources.files(__name__)


def _load(file: Traversable) -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))
