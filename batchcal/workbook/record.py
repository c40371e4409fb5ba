"""The sheet Record of the results workbook: what an auditor needs to work the results out again."""

import datetime as dt
from collections.abc import Mapping, Sequence

from msgspec import Struct

from batchcal import __version__
from batchcal.items import SETUP_ITEMS, SETUP_ITEMS_BY_KEY, SetupItem
from batchcal.logged import ColumnsFile, Place, SetupEntry
from batchcal.model import Evaluation, HeatCapacityEntry, Quantity, Series, Settings
from batchcal.release import Issue
from batchcal.terms import Purpose
from batchcal.workbook import styles
from batchcal.workbook.conversions import conversions
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import (
    Content,
    Field,
    Item,
    write_band,
    write_line,
    write_table,
)
from batchcal.workbook.targets import in_log
from batchcal.workbook.working.live import Live, fixed, on_sheet

_FIELDS = (
    Field("Setting", 34),
    Field("As entered", 24),
    Field("In force", 16, right=True),
    Field("Unit", 11),
    Field("In force from", 12),
    Field("Source", 50),
    Field("Mark", 25),
    Field("Where", 16),
)

_CONSTANTS = ("Constant", "", "Value", "Unit", "", "Source", "Mark", "")
_CONVERSIONS = ("Conversion", "", "Factor", "Unit", "", "Source", "Mark", "")
_SERIES = (
    "Heat capacity of", "Series and state", "Mean (J/K)", "Firings", "Last fired", "Spread and rises", "In force to",
    "Firing nos.",
)  # fmt: skip


class RecordCells(Struct, frozen=True):
    """The figures in force as formulas refer to them: settings and conversions by name, constants by key."""

    settings: Mapping[str, Live]
    constants: Mapping[str, Live]
    conversions: Mapping[str, Live]


def fill_record(
    sheet: OwnSheet, evaluation: Evaluation, constants: Sequence[Quantity], remarks: Sequence[str]
) -> RecordCells:
    """Fill the sheet Record, and return where its figures stand, for formulas that refer to them.

    ``remarks`` are sentences on the making of this workbook.
    """
    sheet.widths = [field.width for field in _FIELDS]
    row = write_line(sheet, 1, "Record", styles.TITLE, height=28)
    for text in (
        "This results workbook is never taken as input: correct your own workbook and run again.",
        *remarks,
    ):
        row = write_line(sheet, row, text, styles.SUBTITLE)
    row = _section(sheet, row + 1, "Made from")
    for label, text in (
        ("Workbook", evaluation.batch.file_name),
        ("SHA-256 of its bytes", evaluation.batch.sha256),
        *_column_map(evaluation.batch.columns),
        ("Program", f"batchcal {__version__}"),
        ("SHA-256 of the settings", evaluation.settings_sha256),
        ("Release", evaluation.release.words),
        *_superseded(evaluation.release.issued),
    ):
        row = _pair(sheet, row, label, text)
    row = _section(sheet, row + 1, "Heat capacity in the day's firings")
    row = write_table(sheet, row, _named(_SERIES), _series_rows(evaluation))
    row = _section(sheet, row + 1, "Settings in force")
    settings = row + 1
    rows = _setting_rows(evaluation)
    row = write_table(sheet, row, _FIELDS, rows)
    row = _section(sheet, row + 1, "Constants used")
    first = row + 1
    row = write_table(sheet, row, _named(_CONSTANTS), [_constant_row(constant) for constant in constants])
    row = _section(sheet, row + 1, "Conversions of units")
    factors, first_factor = conversions(evaluation), row + 1
    write_table(sheet, row, _named(_CONVERSIONS), [_constant_row(factor) for factor in factors])
    return RecordCells(
        _figures(sheet, settings, [(contents[0], contents[2]) for contents in rows]),
        _figures(sheet, first, [(constant.key, constant.value) for constant in constants]),
        _figures(sheet, first_factor, [(factor.name, factor.value) for factor in factors]),
    )


def _figures(sheet: OwnSheet, first: int, named: Sequence[tuple[Content, Content]]) -> dict[str, Live]:
    """Return the figures of a table that begins in row ``first`` by their names, with their addresses."""
    found = {}
    for row, (name, value) in enumerate(named, first):
        key = name.value if isinstance(name, Item) else name
        if isinstance(key, str) and isinstance(value, float):
            found[key] = Live(on_sheet(sheet.title, fixed(f"C{row}")), value)
    return found


def _named(headings: Sequence[str]) -> list[Field]:
    return [Field(heading, field.width, field.right) for heading, field in zip(headings, _FIELDS, strict=True)]


def _section(sheet: OwnSheet, row: int, text: str) -> int:
    return write_band(sheet, row, text, styles.SECTION, columns=len(_FIELDS))


def _pair(sheet: OwnSheet, row: int, label: str, text: str) -> int:
    write_line(sheet, row, label, styles.SUBTITLE)
    return write_line(sheet, row, text, styles.UNBROKEN, column=2)


def _series_rows(evaluation: Evaluation) -> list[list[Content]]:
    fired: dict[str, Place] = {}
    for firing in evaluation.firings:
        if firing.purpose is Purpose.CALIBRATION:
            fired.setdefault(firing.name, firing.row.place)
    return [_series_row(series, fired) for series in evaluation.series]


def _series_row(series: Series, fired: Mapping[str, Place]) -> list[Content]:
    spread = []
    if series.sd_J_per_K is not None:
        spread.append(f"SD {series.sd_J_per_K:.2f} J/K")
    if series.rsd_percent is not None:
        spread.append(f"relative SD {series.rsd_percent:.3f} %")
    if series.rise_range_K is not None:
        spread.append("rises {:.3f} to {:.3f} K".format(*series.rise_range_K))
    if series.source:
        spread.append(series.source)
    first = next((fired[name] for name in series.firings if name in fired), None)
    return [
        Item(series.apparatus, link=in_log(first, "firing") if first is not None else None),
        f"{series.name or 'one series'}: {series.state}",
        Item(series.heat_capacity_J_per_K, "0.00", styles.STRONG_NUMBER),
        "entered" if series.n is None else str(series.n),
        series.date,
        "; ".join(spread),
        series.expires if series.expires is not None else "no life entered",
        ", ".join(series.firings),
    ]


def _constant_row(constant: Quantity) -> list[Content]:
    return [
        constant.name, "", constant.value, constant.unit, "", constant.source or "no source", constant.mark, "",
    ]  # fmt: skip


def _setting_rows(evaluation: Evaluation) -> list[list[Content]]:
    settings = evaluation.settings
    places = {entry.place.where("value"): _place(entry) for entry in evaluation.batch.setup}
    rows: list[list[Content]] = []
    for item in SETUP_ITEMS:
        entry = settings.entries.get(item.key)
        if item.labelled is not None:
            rows += [_quantity_row(name, quantity, places) for name, quantity in _labelled(settings, item)]
            continue
        value = getattr(settings, item.key)
        if isinstance(value, Quantity):
            rows.append(_quantity_row(item.name, value, places))
        else:
            rows.append(_plain_row(item, value, entry))
        in_air = settings.benzoic_heat_in_air
        if item.key == "benzoic_mass_basis" and in_air is not None and in_air != settings.benzoic_heat:
            rows.append(_quantity_row(in_air.name, in_air, places))
    return rows


def _labelled(settings: Settings, item: SetupItem) -> list[tuple[str, Quantity]]:
    if item.key == "heat_capacity":
        return [(entered_name(entry), entry.quantity) for entry in settings.heat_capacities]
    heats = settings.aid_heats if item.key == "aid_heat" else settings.capsule_heats
    return [(f"{item.name} [{label}]", quantity) for label, quantity in heats.items()]


def entered_name(entry: HeatCapacityEntry) -> str:
    """Return the name under which an entered heat capacity stands on Record."""
    return f"{SETUP_ITEMS_BY_KEY['heat_capacity'].name} [{'/'.join(filter(None, (entry.calorimeter, entry.bomb)))}]"


def _quantity_row(name: str, quantity: Quantity, places: Mapping[str, Item]) -> list[Content]:
    return [
        Item(name, style=styles.STRONG),
        quantity.text,
        quantity.value,
        quantity.unit,
        quantity.in_force_from,
        quantity.source or "no source given",
        quantity.mark,
        places.get(quantity.cell, quantity.cell) if quantity.cell else None,
    ]


def _plain_row(item: SetupItem, value: object, entry: SetupEntry | None) -> list[Content]:
    words = _words(value)
    if entry is None:
        entered = "blank: nothing is checked" if item.safety else "blank"
        note = "chosen on the command line or by default" if words else ""
        return [item.name, entered, Item(words, style=styles.TEXT), "", None, note, "", None]
    entered = "could not be read" if "value" in entry.unreadable else _words(entry.value)
    return [
        Item(item.name, style=styles.STRONG), entered, Item(words, style=styles.TEXT), entry.unit,
        entry.in_force_from, entry.source, "", _place(entry),
    ]  # fmt: skip


def _words(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(str(part) for part in value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return f"{value:.15g}" if isinstance(value, float) else str(value)


def _superseded(issued: Issue | None) -> list[tuple[str, str]]:
    """Return the issue that the last one replaces, by the hash of its results file, and what changed."""
    if issued is None or issued.replaces is None:
        return []
    changed = [("Changed", change.words) for change in issued.changed]
    return [(f"Replaces issue {issued.replaces}", f"results file SHA-256 {issued.replaces_sha256}"), *changed]


def _column_map(columns: ColumnsFile | None) -> list[tuple[str, str]]:
    """Return the file of the column map, its hash, and what each heading was read as."""
    if columns is None:
        return []
    read = [(f"{sheet}: {heading}", f"read as {means}") for sheet, heading, means in columns.read]
    return [("Column map", columns.file_name), ("SHA-256 of its bytes", columns.sha256), *read]


def _place(entry: SetupEntry) -> Item:
    return Item(entry.place.where("value"), link=in_log(entry.place, "value"))
