"""What is wrong with a map that can be read: headings, units, words and items that are not known, or named twice."""

import difflib
from collections.abc import Iterable, Iterator
from typing import get_args

from batchcal import units
from batchcal.items import SETUP_ITEMS
from batchcal.reference.headings import languages
from batchcal.terms import Basis
from batchcal.workbook.columns.column_map import (
    ANY_FIRING,
    OPEN,
    SHAPES,
    WORDS,
    ColumnMap,
    Fixed,
    MapColumn,
    MapTable,
)
from batchcal.workbook.columns.fields import Holds, columns_of
from batchcal.workbook.columns.grammar import strength, tidy
from batchcal.workbook.columns.records import OF_ONE_PORTION
from batchcal.workbook.headings import fold
from batchcal.workbook.layout import Column

_ITEMS = {fold(item.name): item for item in SETUP_ITEMS}


def faults(column_map: ColumnMap) -> list[str]:
    """Return what keeps a map from being used, one entry each; open questions are no faults."""
    is_text = any(column_map.text.entries.values())
    found = [] if column_map.tables or is_text else ["it has no [[table]]"]
    for table in column_map.tables:
        found += _of_table(table)
    found += _of_words(column_map)
    for entry in column_map.setup:
        item = _ITEMS.get(fold(entry.item.partition("[")[0]))
        if item is None:
            found.append(f"setup, {entry.item}: no such item{_close(entry.item, [i.name for i in SETUP_ITEMS])}")
        if (entry.value is None) == (not entry.label):
            found.append(f"setup, {entry.item}: either a value or a label is needed")
        if entry.decimal not in ("", ",", OPEN):
            found.append(f'setup, {entry.item}: decimal is "," or nothing')
    if column_map.language not in ("", OPEN, *languages()):
        found.append(f"language {column_map.language!r} is not on record")
    return found


def _of_table(table: MapTable) -> Iterator[str]:
    what = f"table {table.sheet}"
    if not table.sheet:
        yield "a table names no sheet"
    if table.holds not in get_args(Holds):
        kinds = ", ".join(kind for kind in get_args(Holds) if kind != OPEN)
        yield f"{what}: holds is one of {kinds}, not {table.holds!r}"
        return
    if table.shape not in SHAPES:
        yield f"{what}: shape is one of {', '.join(SHAPES)}, not {table.shape!r}"
    if not any(entry.means for entry in table.headings):
        yield f"{what}: no heading is read"
    if table.shape == "forms" and not table.tests:
        yield f"{what}: forms need tests, the headings of the test portions"
    if table.shape == "curves" and not _has_curves(table):
        yield f'{what}: curves need holds = "readings", a heading read as Time and the heading "{ANY_FIRING}"'
    known = {name: column for name, (_, column) in columns_of(table.holds).items()}
    yield from _of_headings(what, table, known)
    for cell in table.above:
        yield from _of_entry(f"{what}, '{cell.heading}'", cell, known)
    for name, value in table.every_row.items():
        yield from _of_value(f"{what}, every_row", name, value, known)
    if table.sheet_is not in ("", OPEN, *known):
        yield f"{what}: sheet_is names no heading of the blank workbook: {table.sheet_is!r}"


def _has_curves(table: MapTable) -> bool:
    times = any(entry.means == "Time" and entry.heading != ANY_FIRING for entry in table.headings)
    firings = any(entry.means == "Temperature" and entry.heading == ANY_FIRING for entry in table.headings)
    return table.holds == "readings" and times and firings


def _of_headings(what: str, table: MapTable, known: dict[str, Column]) -> Iterator[str]:
    parts = list(dict.fromkeys(column.part for column in table.headings if column.part))
    seen: set[tuple[str, str]] = set()
    for column in table.headings:
        spot = f"{what}, '{column.heading}'"
        yield from _of_entry(spot, column, known)
        if column.means not in ("", OPEN):
            if (column.means, column.part) in seen:
                yield f"{spot}: two columns fit {column.means}; leave one of them"
            seen.add((column.means, column.part))
        if not column.part and column.means in OF_ONE_PORTION and parts:
            yield f"{spot}: {column.means} is of one test portion; give its part ({', '.join(parts)})"
        if column.part and table.shape != "pairs":
            yield f"{spot}: part belongs to the shape pairs"


def _of_entry(spot: str, entry: MapColumn, known: dict[str, Column]) -> Iterator[str]:
    if entry.decimal not in ("", ",", OPEN):
        yield f'{spot}: decimal is "," or nothing'
    if entry.means in ("", OPEN):
        return
    column = known.get(entry.means)
    if column is None:
        yield f"{spot}: {entry.means!r} is no heading of the blank workbook here{_close(entry.means, known)}"
        return
    if entry.basis and entry.basis != OPEN and (not column.with_basis or entry.basis not in tuple(Basis)):
        yield f"{spot}: basis is one of {', '.join(Basis)}, and only for contents"
    if entry.unit and entry.unit != OPEN:
        if column.field == "concentration":
            if not strength(entry.unit):
                yield f"{spot}: the unit of a strength is mol/L or eq/L, not {entry.unit!r}"
        elif column.quantity is None or units.read(entry.unit, column.quantity) is None:
            readable = units.readable(column.quantity) if column.quantity else "none"
            yield f"{spot}: the unit {entry.unit!r} is not read for {entry.means} (read: {readable})"
    elif not entry.unit and column.quantity and units.only(column.quantity) is None:
        yield f"{spot}: {entry.means} needs a unit ({units.readable(column.quantity)})"


def _of_value(what: str, name: str, value: Fixed, known: dict[str, Column]) -> Iterator[str]:
    column = known.get(name)
    if column is None:
        yield f"{what}: {name!r} is no heading of the blank workbook here{_close(name, known)}"
    elif value == OPEN:
        return
    elif column.kind == "number" and not isinstance(value, float):
        yield f"{what}: {name} is a number, in {column.unit or 'its own unit'}"
    elif column.choices and (not isinstance(value, str) or value.casefold() not in map(str.casefold, column.choices)):
        yield f"{what}: {name} is one of {', '.join(column.choices)}"
    elif column.kind in ("date", "time"):
        yield f"{what}: {name} differs from row to row; leave it out"


def _of_words(column_map: ColumnMap) -> Iterator[str]:
    meant: dict[str, str] = {}
    for word, said in column_map.words.items():
        if word not in tuple(WORDS):
            yield f"words: {word!r} is no word that is known{_close(word, WORDS)}"
        for text in said:
            other = meant.setdefault(tidy(text).casefold(), word)
            if other != word and text != OPEN:
                yield f"words: '{text}' stands for both {other} and {word}"


def _close(word: str, known: Iterable[str]) -> str:
    names = {str(name).casefold(): str(name) for name in known}
    close = difflib.get_close_matches(word.casefold(), names, 1)
    return f" (meant: {names[close[0]]}?)" if close else ""
