"""Labels above a table, each with its value: what holds for all rows below, and what belongs on Setup."""

from collections.abc import Sequence

from msgspec import Struct

from batchcal.findings import make
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.column_map import OPEN, At, MapColumn, MapSetup
from batchcal.workbook.columns.decide import Answers, Decision, key_of, settle_decimals, settle_unit
from batchcal.workbook.columns.detected import Detected
from batchcal.workbook.columns.evidence import see
from batchcal.workbook.columns.fields import FIELDS
from batchcal.workbook.columns.fit import beside, cell_text, key
from batchcal.workbook.columns.grammar import parse
from batchcal.workbook.columns.questions import NOT_READ, Question, of_fields
from batchcal.workbook.columns.records import with_comma
from batchcal.workbook.columns.variants import look_up
from batchcal.workbook.xlsx.references import address

ABOVE = {
    "date": "Date",
    "calorimeter_id": "Calorimeter",
    "bomb_id": "Bomb",
    "titrant_conc": "Concentration",
    "titre_blank": "Blank",
    "oxygen_pressure": "Oxygen pressure",
    "bomb_water": "Water in bomb",
}
"""Fields that are read for the rows below a label."""

ON_SETUP = {
    "date": "Batch date",
    "analyst": "Analyst",
    "checker": "Reviewer",
    "heat_capacity": "Effective heat capacity",
    "certified_cv": "Benzoic acid heat of combustion",
}
"""Fields that are items of Setup where they stand beside a label."""


class Label(Struct, frozen=True):
    """A label with a value beside it or below it."""

    text: str
    address: str
    at: At
    value: Cell
    row: int


class Labels(Struct):
    """What the labels of a table's sheet are found to be."""

    above: list[MapColumn]
    setup: list[MapSetup]
    questions: list[Question]
    shown: list[tuple[str, str, str, str, tuple[str, ...]]]
    """Address, label, what it is read as, the evidence, and the values."""


def find_labels(table: Detected) -> list[Label]:
    """Return the labels above a table and between its blocks, each with its value."""
    grid = table.grid
    first = table.heading_row - table.levels + 1
    indexes = {seen.index for seen in table.columns}
    found = []
    for row, cells in grid.rows.items():
        inside = row > table.heading_row
        if first <= row <= table.heading_row or (inside and table.shape == "forms"):
            continue
        if inside and sum(index in cells for index in indexes) > 3:
            continue
        for index, cell in cells.items():
            text = cell_text(cell) if cell.kind is CellKind.TEXT else ""
            where = beside(grid, row, index, "right") if text else None
            value = grid.cell(*where) if where is not None else None
            if value is None:
                continue
            if value.kind is not CellKind.TEXT or text.endswith(":") or with_comma(value) is not None:
                found.append(Label(text, address(row, index), "right", value, row))
    return found


def of_labels(table: Detected, columns: Sequence[Decision], answers: Answers, known: frozenset[str]) -> Labels:
    """Return what the labels of a table are; nothing is taken that is a column as well.

    ``known`` are the headings of the blank workbook that may be read for its rows.
    """
    made = Labels([], [], [], [])
    as_columns = {one.key for one in columns if one.settled}
    done: set[str] = set()
    grouped: dict[str, list[Label]] = {}
    for label in find_labels(table):
        grouped.setdefault(key(label.text), []).append(label)
    for name, members in grouped.items():
        label = members[0]
        field = _field(label, table, answers, made)
        if not field or field in as_columns or field in done or name in done:
            continue
        done |= {field, name}
        if field in ON_SETUP or ABOVE.get(field) in known:
            _add(table, field, members, answers, made, above=ABOVE.get(field) in known)
    return made


def _field(label: Label, table: Detected, answers: Answers, made: Labels) -> str:
    """Return what a label means, "" for what is not read beside a label; puts the question where it is doubtful."""
    heading = parse(label.text.rstrip(" :"))
    words = look_up(heading)
    fields = [field for field in words.fields if field in ABOVE or field in ON_SETUP]
    if not fields:
        return ""
    about = key_of(table.grid.title, label.address, "means")
    answer = answers.get(about)
    if answer is not None:
        return "" if answer == NOT_READ else answer
    if len(words.fields) == 1 and not words.ambiguous and not heading.short and words.read_by_us(fields[0]):
        return fields[0]
    code = "column-name-short" if heading.short else "column-fits-two"
    shown = " or ".join(FIELDS[field].name for field in fields)
    choices = f"; it may be {shown}" if heading.short else f"{shown}, or something else"
    finding = make(code, sheet=table.grid.title, row=label.row, cell=label.address, read=label.text, fields=choices)
    made.questions.append(Question(about, finding, of_fields(fields)))
    made.above.append(MapColumn(label.text, OPEN, note=f"e.g. {label.value.text}; may be {shown}"))
    return ""


def _add(table: Detected, field: str, members: Sequence[Label], answers: Answers, made: Labels, *, above: bool) -> None:
    label = members[0]
    name = label.text.rstrip(" :")
    seen = see(label.address, parse(name), {one.row: one.value for one in members})
    decision = Decision(seen, table.grid.title, field)
    settle_unit(decision, answers)
    settle_decimals(decision, answers)
    made.questions += decision.questions
    if not decision.key:
        return
    values = seen.samples
    note = f"e.g. {', '.join(values)}"
    if field in ON_SETUP and (not above or len(members) == 1):
        item = ON_SETUP[field]
        more = "; add source and in_force_from" if field == "heat_capacity" else ""
        made.setup.append(
            MapSetup(
                item, label=name, sheet=table.grid.title, unit=decision.unit, decimal=decision.decimal, note=note + more
            )
        )
        made.shown.append((label.address, label.text, f"Setup: {item}", "label", values))
    if above:
        made.above.append(
            MapColumn(name, ABOVE[field], unit=decision.unit, decimal=decision.decimal, at=label.at, note=note)
        )
        made.shown.append((label.address, label.text, ABOVE[field], "label above the rows", values))
