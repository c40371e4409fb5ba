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
from batchcal.workbook.own_cells import Look
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Column, Looks, write_band, write_line, write_table
from batchcal.workbook.targets import in_log
from batchcal.workbook.working.live import Live, fixed, on_sheet
from batchcal.workbook.xlsx.links import Link

_WIDTHS = (34, 24, 16, 11, 12, 50, 25, 16)

_MEAN = Look(styles.STRONG_NUMBER, "0.00")

_SETTINGS = ("Setting", "As entered", "In force", "Unit", "In force from", "Source", "Mark", "Where")
_CONSTANTS = ("Constant", "", "Value", "Unit", "", "Source", "Mark", "")
_CONVERSIONS = ("Conversion", "", "Factor", "Unit", "", "Source", "Mark", "")


class _Line(Struct, frozen=True):
    """One figure or word in force, and where it comes from."""

    name: str
    in_force: float | str
    entered: str = ""
    unit: str = ""
    since: dt.date | None = None
    source: str = ""
    mark: str = ""
    where: str = ""
    link: Link | None = None
    strong: bool = False


_WORDS = Look(styles.TEXT)
_BY_RANK = Looks[_Line](lambda line: line.strong, {True: Look(styles.STRONG), False: _WORDS})
_BY_CONTENT = Looks[_Line](lambda line: isinstance(line.in_force, str), {True: _WORDS, False: Look(styles.NUMBER)})


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
    sheet.widths = _WIDTHS
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
    row = write_table(sheet, row, _series_columns(evaluation), evaluation.series)
    row = _section(sheet, row + 1, "Settings in force")
    settings, lines = row + 1, _setting_lines(evaluation)
    row = write_table(sheet, row, _columns(_SETTINGS), lines)
    row = _section(sheet, row + 1, "Constants used")
    first = row + 1
    row = write_table(sheet, row, _columns(_CONSTANTS), list(map(_constant_line, constants)))
    row = _section(sheet, row + 1, "Conversions of units")
    factors, first_factor = conversions(evaluation), row + 1
    write_table(sheet, row, _columns(_CONVERSIONS), list(map(_constant_line, factors)))
    return RecordCells(
        _figures(sheet, settings, [(line.name, line.in_force) for line in lines]),
        _figures(sheet, first, [(constant.key, constant.value) for constant in constants]),
        _figures(sheet, first_factor, [(factor.name, factor.value) for factor in factors]),
    )


def _figures(sheet: OwnSheet, first: int, named: Sequence[tuple[str, float | str]]) -> dict[str, Live]:
    """Return the figures of a table that begins in row ``first`` by their names, with their addresses."""
    return {
        name: Live(on_sheet(sheet.title, fixed(f"C{row}")), value)
        for row, (name, value) in enumerate(named, first)
        if isinstance(value, float)
    }


def _columns(headings: Sequence[str]) -> tuple[Column[_Line], ...]:
    name, entered, in_force, unit, since, source, mark, where = headings
    return (
        Column(name, _WIDTHS[0], lambda line: line.name, _BY_RANK),
        Column(entered, _WIDTHS[1], lambda line: line.entered),
        Column(in_force, _WIDTHS[2], lambda line: line.in_force, _BY_CONTENT, right=True),
        Column(unit, _WIDTHS[3], lambda line: line.unit),
        Column(since, _WIDTHS[4], lambda line: line.since),
        Column(source, _WIDTHS[5], lambda line: line.source),
        Column(mark, _WIDTHS[6], lambda line: line.mark),
        Column(where, _WIDTHS[7], lambda line: line.where, link=lambda line: line.link),
    )


def _section(sheet: OwnSheet, row: int, text: str) -> int:
    return write_band(sheet, row, text, styles.SECTION, columns=len(_WIDTHS))


def _pair(sheet: OwnSheet, row: int, label: str, text: str) -> int:
    write_line(sheet, row, label, styles.SUBTITLE)
    return write_line(sheet, row, text, styles.UNBROKEN, column=2)


def _series_columns(evaluation: Evaluation) -> tuple[Column[Series], ...]:
    fired: dict[str, Place] = {}
    for firing in evaluation.firings:
        if firing.purpose is Purpose.CALIBRATION:
            fired.setdefault(firing.name, firing.row.place)

    def first_firing(series: Series) -> Link | None:
        first = next((fired[name] for name in series.firings if name in fired), None)
        return None if first is None else in_log(first, "firing")

    return (
        Column("Heat capacity of", _WIDTHS[0], lambda series: series.apparatus, link=first_firing),
        Column("Series and state", _WIDTHS[1], lambda series: f"{series.name or 'one series'}: {series.state}"),
        Column("Mean (J/K)", _WIDTHS[2], lambda series: series.heat_capacity_J_per_K, _MEAN, right=True),
        Column("Firings", _WIDTHS[3], lambda series: "entered" if series.n is None else str(series.n)),
        Column("Last fired", _WIDTHS[4], lambda series: series.date),
        Column("Spread and rises", _WIDTHS[5], _spread),
        Column("In force to", _WIDTHS[6], lambda series: series.expires or "no life entered"),
        Column("Firing nos.", _WIDTHS[7], lambda series: ", ".join(series.firings)),
    )


def _spread(series: Series) -> str:
    spread = []
    if series.sd_J_per_K is not None:
        spread.append(f"SD {series.sd_J_per_K:.2f} J/K")
    if series.rsd_percent is not None:
        spread.append(f"relative SD {series.rsd_percent:.3f} %")
    if series.rise_range_K is not None:
        spread.append("rises {:.3f} to {:.3f} K".format(*series.rise_range_K))
    if series.source:
        spread.append(series.source)
    return "; ".join(spread)


def _constant_line(constant: Quantity) -> _Line:
    source = constant.source or "no source"
    return _Line(constant.name, constant.value, unit=constant.unit, source=source, mark=constant.mark)


def _setting_lines(evaluation: Evaluation) -> list[_Line]:
    settings = evaluation.settings
    links = {entry.place.where("value"): in_log(entry.place, "value") for entry in evaluation.batch.setup}
    lines: list[_Line] = []
    for item in SETUP_ITEMS:
        entry = settings.entries.get(item.key)
        if item.labelled is not None:
            lines += [_quantity_line(name, quantity, links) for name, quantity in _labelled(settings, item)]
            continue
        value = getattr(settings, item.key)
        if isinstance(value, Quantity):
            lines.append(_quantity_line(item.name, value, links))
        else:
            lines.append(_plain_line(item, value, entry))
        in_air = settings.benzoic_heat_in_air
        if item.key == "benzoic_mass_basis" and in_air is not None and in_air != settings.benzoic_heat:
            lines.append(_quantity_line(in_air.name, in_air, links))
    return lines


def _labelled(settings: Settings, item: SetupItem) -> list[tuple[str, Quantity]]:
    if item.key == "heat_capacity":
        return [(entered_name(entry), entry.quantity) for entry in settings.heat_capacities]
    heats = settings.aid_heats if item.key == "aid_heat" else settings.capsule_heats
    return [(f"{item.name} [{label}]", quantity) for label, quantity in heats.items()]


def entered_name(entry: HeatCapacityEntry) -> str:
    """Return the name under which an entered heat capacity stands on Record."""
    return f"{SETUP_ITEMS_BY_KEY['heat_capacity'].name} [{'/'.join(filter(None, (entry.calorimeter, entry.bomb)))}]"


def _quantity_line(name: str, quantity: Quantity, links: Mapping[str, Link | None]) -> _Line:
    where = quantity.cell or ""
    return _Line(
        name, quantity.value, quantity.text, quantity.unit, quantity.in_force_from,
        quantity.source or "no source given", quantity.mark, where, links.get(where), strong=True,
    )  # fmt: skip


def _plain_line(item: SetupItem, value: object, entry: SetupEntry | None) -> _Line:
    words = _words(value)
    if entry is None:
        entered = "blank: nothing is checked" if item.safety else "blank"
        return _Line(item.name, words, entered, source="chosen on the command line or by default" if words else "")
    entered = "could not be read" if "value" in entry.unreadable else _words(entry.value)
    where, link = entry.place.where("value"), in_log(entry.place, "value")
    return _Line(
        item.name, words, entered, entry.unit, entry.in_force_from, entry.source, "", where, link, strong=True
    )  # fmt: skip


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
