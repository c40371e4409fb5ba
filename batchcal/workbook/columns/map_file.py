"""The file of a column map: TOML that a person can read and edit."""

import datetime as dt
import hashlib
import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, get_args

from batchcal.errors import UsageError
from batchcal.items import SETUP_ITEMS
from batchcal.workbook.columns.check import faults
from batchcal.workbook.columns.column_map import (
    OPEN,
    At,
    ColumnMap,
    Fixed,
    MapColumn,
    MapSetup,
    MapTable,
    MapText,
)
from batchcal.workbook.foreign.csv_form import DATES

FORMAT = "batchcal.columns/1"

GREATEST = 10**300
"""Whole numbers from here on are none of a laboratory; a float may not hold them."""

_HEAD = """\
# How batchcal reads the sheets of {workbook}. Written by `batchcal columns`; it may be edited by hand.
# headings: each heading as the sheet has it, in the order of the sheet. Together they are the fingerprint of the
#   table: where one of them is changed, added, moved or gone, nothing is read until the map is made anew.
# means: the heading of the blank workbook under which it is read ("" = carried along and not read).
# unit, basis: where the heading does not say it in a way that is read. decimal = ",": numbers typed as text with a
#   decimal comma are read as numbers. "?" = open: nothing is read with this map until it is answered.
"""
_SETUP_HEAD = """\
# What the lab has decided: "Item" = value, or { value, unit, source, in_force_from }, or { label, sheet } where the
# value stands beside a label on a sheet. Items as in the blank workbook; take away the # where you fill one in.
"""
_TABLE_KEYS = {"sheet", "holds", "shape", "headings", "levels", "above", "every_row", "tests", "skip", "sheet_is"}
_COLUMN_KEYS = {"heading", "means", "unit", "basis", "decimal", "part"}
_ABOVE_KEYS = {"heading", "means", "unit", "basis", "decimal", "at"}
_SETUP_KEYS = {"value", "unit", "source", "in_force_from", "label", "sheet", "at", "decimal"}
_TEXT_KEYS = {"encoding", "delimiter", "decimal", "date"}
_MAP_KEYS = {"format", "language", "csv", "words", "setup", "table"}


def read_map(path: Path) -> ColumnMap:
    """Read a map; UsageError with one line where it cannot be read or contradicts itself, questions left open aside."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise UsageError(f"{path.name}: the column map cannot be read ({error.strerror or error})") from error
    try:
        text = data.decode("utf-8-sig")
        content = tomllib.loads(text)
    except ValueError as error:  # not UTF-8, not TOML, or a number with more digits than Python reads
        raise UsageError(f"{path.name}: no column map that can be read ({error})") from error
    except RecursionError as error:
        raise UsageError(f"{path.name}: no column map that can be read (brackets nested too deep)") from error
    parser = _Parser(text)
    column_map = parser.column_map(content, path.name, hashlib.sha256(data).hexdigest())
    said = [*parser.faults, *(faults(column_map) if column_map is not None else ())]
    if said or column_map is None:
        more = f"; and {len(said) - 6} more" if len(said) > 6 else ""
        raise UsageError(f"{path.name}: {'; '.join(said[:6])}{more}")
    return column_map


class _Parser:
    """Takes the content of a file apart, and says of each entry what is wrong with its form."""

    def __init__(self, text: str) -> None:
        self.lines = text.splitlines()
        self.faults: list[str] = []

    def column_map(self, content: Mapping[str, Any], name: str, sha256: str) -> ColumnMap | None:
        if content.get("format") != FORMAT:
            self.faults.append(
                f"format is {content.get('format')!r}, not {FORMAT!r}; make the map with batchcal columns"
            )
            return None
        self._keys("the map", content, _MAP_KEYS)
        words = {str(word): tuple(self._texts(f"words, {word}", said)) for word, said in self._table(content, "words")}
        return ColumnMap(
            tables=tuple(self._table_of(entry) for entry in self._list("table", content.get("table", []))),
            setup=tuple(self._setup(item, entry) for item, entry in self._table(content, "setup")),
            words=words,
            language=self._text("the map", content, "language"),
            text=self._how_written(content),
            name=name,
            sha256=sha256,
        )

    def _how_written(self, content: Mapping[str, Any]) -> MapText:
        entry = dict(self._table(content, "csv"))
        self._keys("csv", entry, _TEXT_KEYS)
        encoding, delimiter, decimal = (self._text("csv", entry, key) for key in ("encoding", "delimiter", "decimal"))
        made = MapText(encoding, delimiter, decimal, self._text("csv", entry, "date"))
        if made.date not in ("", OPEN, *DATES):
            self.faults.append(f"csv: date is one of {', '.join(DATES)}, not {made.date!r}")
        return made

    def _table_of(self, entry: Mapping[str, Any]) -> MapTable:
        what = f"table {entry.get('sheet', '')}".strip()
        self._keys(what, entry, _TABLE_KEYS)
        levels = entry.get("levels", 1)
        if not isinstance(levels, int) or isinstance(levels, bool) or not 1 <= levels <= 4:
            self.faults.append(f"{what}: levels is a number from 1 to 4")
            levels = 1
        return MapTable(
            sheet=self._text(what, entry, "sheet"),
            holds=self._text(what, entry, "holds"),  # type: ignore[arg-type]  # checked with the whole map
            shape=self._text(what, entry, "shape", "rows"),  # type: ignore[arg-type]
            headings=self._columns(f"{what}, headings", entry.get("headings", []), _COLUMN_KEYS),
            levels=levels,
            above=self._columns(f"{what}, above", entry.get("above", []), _ABOVE_KEYS),
            every_row={
                str(key): self._fixed(f"{what}, {key}", value) for key, value in self._table(entry, "every_row")
            },
            tests=tuple(self._texts(f"{what}, tests", entry.get("tests", []))),
            skip=tuple(self._texts(f"{what}, skip", entry.get("skip", []))),
            sheet_is=self._text(what, entry, "sheet_is"),
        )

    def _setup(self, item: str, entry: Any) -> MapSetup:
        what, line = f"setup, {item}", self._line(item)
        if not isinstance(entry, dict):
            return MapSetup(item, self._fixed(what, entry), line=line)
        self._keys(what, entry, _SETUP_KEYS)
        since = entry.get("in_force_from")
        if since is not None and not isinstance(since, dt.date):
            self.faults.append(f"{what}: in_force_from is a date, as 2026-10-01 without quotes")
            since = None
        return MapSetup(
            item,
            self._fixed(what, entry["value"]) if "value" in entry else None,
            unit=self._text(what, entry, "unit"),
            source=self._text(what, entry, "source"),
            in_force_from=since.date() if isinstance(since, dt.datetime) else since,
            label=self._text(what, entry, "label"),
            sheet=self._text(what, entry, "sheet"),
            at=self._at(what, entry),
            decimal=self._text(what, entry, "decimal"),
            line=line,
        )

    def _columns(self, what: str, value: Any, keys: set[str]) -> tuple[MapColumn, ...]:
        found = []
        for entry in self._list(what, value):
            spot = f"{what}, {entry.get('heading', '')}"
            self._keys(spot, entry, keys)
            texts = {key: self._text(spot, entry, key) for key in keys - {"at"}}
            if not texts["heading"]:
                self.faults.append(f"{spot}: heading is missing")
            found.append(MapColumn(**texts, at=self._at(spot, entry)))
        return tuple(found)

    def _at(self, what: str, entry: Mapping[str, Any]) -> At:
        at = entry.get("at", "right")
        if at not in get_args(At):
            self.faults.append(f"{what}: at is one of {', '.join(get_args(At))}, not {at!r}")
        return "below" if at == "below" else "right"

    def _keys(self, what: str, entry: Mapping[str, Any], known: set[str]) -> None:
        for key in sorted(set(entry) - known):
            self.faults.append(f"{what}: there is no entry {key!r} (entries: {', '.join(sorted(known))})")

    def _text(self, what: str, entry: Mapping[str, Any], key: str, default: str = "") -> str:
        value = entry.get(key, default)
        if not isinstance(value, str):
            self.faults.append(f"{what}: {key} is a text in quotes")
            return default
        return value

    def _texts(self, what: str, value: Any) -> list[str]:
        texts = [value] if isinstance(value, str) else value
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            self.faults.append(f"{what}: a text or a list of texts is needed")
            return []
        return texts

    def _list(self, what: str, value: Any) -> list[dict[str, Any]]:
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            self.faults.append(f"{what}: a list of entries in braces is needed")
            return []
        return value

    def _table(self, entry: Mapping[str, Any], key: str) -> Iterable[tuple[str, Any]]:
        value = entry.get(key, {})
        if not isinstance(value, dict):
            self.faults.append(f"{key}: entries with names are needed")
            return ()
        return value.items()

    def _fixed(self, what: str, value: Any) -> Fixed:
        if isinstance(value, dt.datetime):
            return value.date()
        if isinstance(value, str | dt.date | float):
            return value
        if isinstance(value, int) and not isinstance(value, bool) and abs(value) < GREATEST:
            return float(value)
        self.faults.append(f"{what}: a number, a date or a text in quotes is needed")
        return ""

    def _line(self, item: str) -> int:
        """Return the line in which an item of Setup stands; 1 where it is written in a way that is not found."""
        name = re.compile(rf"\s*[\"']?{re.escape(item)}[\"']?\s*=")
        return next((number for number, line in enumerate(self.lines, 1) if name.match(line)), 1)


def written(column_map: ColumnMap, workbook: str) -> str:
    """Return the text of a map's file; read again it gives the same map."""
    lines = [_HEAD.format(workbook=_one_line(workbook)), f"format = {_quoted(FORMAT)}"]
    if column_map.language:
        lines.append(f"language = {_quoted(column_map.language)}  # headings were read in this language first")
    entries = {name: value for name, value in column_map.text.entries.items() if value}
    if entries:
        lines += ["", "[csv]  # how the table of text is written"]
        for name, value in entries.items():
            note = column_map.text.notes.get(name, "")
            lines.append(f"{name} = {_quoted(value)}" + (f"  # {_one_line(note)}" if note else ""))
        if "date" not in entries:
            ways = ", ".join(DATES)
            lines.append(f'# date = ""  # {ways}: how dates stand; without it only year-month-day is read as a date')
    lines += ["", "[words]  # our word = the lab's words for it"]
    for word, said in column_map.words.items():
        note = column_map.word_notes.get(word, "")
        lines.append(f"{_key(word)} = {_listed(said)}" + (f"  # {_one_line(note)}" if note else ""))
    lines += ["", "[setup]", _SETUP_HEAD.rstrip()]
    by_item: dict[str, list[MapSetup]] = {}
    for entry in column_map.setup:
        by_item.setdefault(entry.item.partition(" [")[0].casefold(), []).append(entry)
    for item in SETUP_ITEMS:
        name = f"{item.name} [{item.labelled}]" if item.labelled else item.name
        unit = f', unit = {_quoted(item.unit)}, source = ""' if item.unit else ""
        blank = f'# {_key(name)} = {{ value = ""{unit} }}  # {item.note}'
        lines += [_setup_line(entry) for entry in by_item.get(item.name.casefold(), [])] or [blank]
    for table in column_map.tables:
        lines += ["", *_table_lines(table)]
    return "\n".join(lines) + "\n"


def _table_lines(table: MapTable) -> list[str]:
    lines = ["[[table]]", f"sheet = {_quoted(table.sheet)}", f"holds = {_quoted(table.holds)}"]
    lines += [f"shape = {_quoted(table.shape)}"]
    lines += [f"levels = {table.levels}"] if table.levels != 1 else []
    lines += [f"sheet_is = {_quoted(table.sheet_is)}"] if table.sheet_is else []
    lines += [f"tests = {_listed(table.tests)}"] if table.tests else []
    lines += [f"skip = {_listed(table.skip)}"] if table.skip else []
    if table.every_row:
        values = ", ".join(f"{_key(name)} = {_value(value)}" for name, value in table.every_row.items())
        lines.append(f"every_row = {{ {values} }}")
    if table.above:
        lines += ["above = [", *_entries(table.above, ("heading", "means", "unit", "basis", "decimal", "at")), "]"]
    lines += ["headings = [", *_entries(table.headings, ("heading", "means", "unit", "basis", "decimal", "part")), "]"]
    return lines


def _entries(entries: Iterable[MapColumn], keys: tuple[str, ...]) -> list[str]:
    bodies = []
    notes = []
    for entry in entries:
        pairs = [(key, getattr(entry, key)) for key in keys]
        kept = [(key, value) for key, value in pairs if value or key in keys[:2]]
        bodies.append("  { " + ", ".join(f"{k} = {_quoted(v)}" for k, v in kept if (k, v) != ("at", "right")) + " },")
        notes.append(entry.note)
    wide = min(max((len(body) for body in bodies), default=0), 90)
    return [f"{body:{wide}}  # {_one_line(note)}" if note else body for body, note in zip(bodies, notes, strict=True)]


def _setup_line(entry: MapSetup) -> str:
    parts: list[tuple[str, Fixed | None]] = [
        ("value", entry.value),
        ("label", entry.label or None),
        ("sheet", entry.sheet or None),
        ("at", None if entry.at == "right" else entry.at),
        ("decimal", entry.decimal or None),
        ("unit", entry.unit or None),
        ("source", entry.source or None),
        ("in_force_from", entry.in_force_from),
    ]
    given = [(key, value) for key, value in parts if value is not None]
    if [key for key, _ in given] == ["value"]:
        text = _value(given[0][1])
    else:
        text = "{ " + ", ".join(f"{key} = {_value(value)}" for key, value in given) + " }"
    note = f"  # {_one_line(entry.note)}" if entry.note else ""
    return f"{_key(entry.item)} = {text}{note}"


def _value(value: Fixed | None) -> str:
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
    return _quoted(value or "")


def _listed(texts: Iterable[str]) -> str:
    return f"[{', '.join(_quoted(text) for text in texts)}]"


def _key(text: str) -> str:
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else _quoted(text)


def _quoted(text: str) -> str:
    """Return a text as a basic string of TOML, whose escapes are those of JSON, and the sign that deletes besides."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _one_line(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text)
