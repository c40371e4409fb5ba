"""The blank workbook of ``batchcal new``: made from the layout and the items of Setup, for a person to fill."""

from collections.abc import Iterable, Sequence

from openpyxl.comments import Comment
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Alignment, Border, Font, NamedStyle, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.items import SETUP_ITEMS, SetupItem
from batchcal.terms import FROM_METHOD
from batchcal.workbook import styles
from batchcal.workbook.cells import shortened
from batchcal.workbook.layout import SETUP, SHEETS, Column, Sheet
from batchcal.workbook.package import new_book, save
from batchcal.workbook.prefill import NOTHING, Entry, Prefill
from batchcal.workbook.start import add_start_sheet
from batchcal.workbook.styles import Look
from batchcal.workbook.tables import own_cell

LAST_ROW = 150
"""Rows are prepared down to this one; more may be used."""

CAPTION_ROW, HEADING_ROW, FIRST_ROW = 1, 2, 3

_LONGEST_MESSAGE = 225
"""Characters that the messages of a validation hold."""

GROUPS = {
    "firing": "Firing", "sample": "Sample", "outcome": "What became of it", "analyst": "By whom, in what",
    "crucible": "Weighing", "wire_fitted_cm": "Ignition", "aid": "Aid and capsule", "water_mL": "Filling",
    "initial_C": "Temperatures", "residue": "Afterwards", "titrant": "Titrant", "burette_start_mL": "Titration",
    "baryta_mL": "Only under two titrations", "description": "What it is", "moisture_analysis": "Moisture",
    "ash": "Contents", "basis": "About the contents", "moisture_date": "Record",
    "in_service_from": "In service", "changed_on": "Changes", "calibrated_on": "Calibration or pressure test",
    "firings_since_service": "Service",
}  # fmt: skip
"""Captions above the headings, each at the field where its group begins."""

SETUP_GROUPS = {
    "laboratory": "the day", "method": "method and judgement", "bases_required": "the report",
    "benzoic_heat": "benzoic acid", "wire_heat": "ignition", "nitric_heat": "acids",
    "series_minimum": "the calorimeter", "max_charge_energy": "your safety limits", "heat_capacity": "repeating items",
}  # fmt: skip
"""Items of Setup at which a new shaded group begins; only the shading shows them, for every Item cell is read."""

_TAB_COLOURS = {
    "setup": "8FA39B",
    "calibration": "A9956B",
    "runs": "5F8791",
    "titration": "9A7F95",
    "samples": "7F946C",
    "readings": "8B8BA3",
    "titrant": "A39A7F",
    "equipment": "7F93A3",
    "amendments": "A3807F",
}

_NOT_BELOW_ZERO = ("mass",)
"""Quantities of which a negative value is impossible and refused; of other numbers an unusual one is only asked."""

_CAPTION = NamedStyle(
    "group caption",
    Font(styles.FONT, 9, b=True, color=styles.SOFT_INK),
    styles.solid(styles.GROUP_TINT),
    alignment=Alignment(vertical="center"),
)
_OPTIONAL = NamedStyle(
    "optional heading",
    Font(styles.FONT, 10, color=styles.INK),
    styles.HEADING.fill,
    styles.HEADING.border,
    styles.HEADING.alignment,
)
_LINE, _STRONG = Side("hair", color=styles.LINE), Side("thin", color=styles.STRONG_LINE)
_UNUSUAL = Font(b=True, i=True, u="single", color="8A3B12")


def blank_workbook(filled: Prefill = NOTHING) -> bytes:
    """Return the blank workbook as bytes, with what is filled in already; the same version gives the same bytes."""
    book = new_book()
    look = Look(book)
    add_start_sheet(book, look, filled)
    for sheet in SHEETS:
        worksheet = book.create_sheet(sheet.name)
        worksheet.sheet_properties.tabColor = _TAB_COLOURS[sheet.role]
        _headings(worksheet, sheet, look)
        if sheet is SETUP:
            _setup_rows(worksheet, filled)
        else:
            _body(worksheet, sheet, filled)
    _first_in_view(book)
    return save(book)


def _first_in_view(book: Workbook) -> None:
    book.active = 0
    for number, worksheet in enumerate(book.worksheets):
        worksheet.sheet_view.tabSelected = number == 0


def _headings(worksheet: Worksheet, sheet: Sheet, look: Look) -> None:
    needed = {field for group in sheet.needed for fields in group for field in fields}
    caption = sheet.note if sheet is SETUP else ""
    for index, column in enumerate(sheet.columns, 1):
        above = own_cell(worksheet, CAPTION_ROW, index)
        look.apply(above, _CAPTION)
        text = GROUPS.get(column.field, "") if sheet is not SETUP else (caption if index == 1 else "")
        if sheet is not SETUP and index == 1 and not text:
            text = sheet.name
        styles.write_text(above, text)
        heading = own_cell(worksheet, HEADING_ROW, index)
        look.apply(heading, styles.HEADING if column.field in needed else _OPTIONAL)
        styles.write_text(heading, column.heading)
        heading.comment = _comment(_heading_note(column, column.field in needed))
        if text and index > 1:
            above.border = Border(left=_STRONG)
            heading.border = Border(styles.HEADING.border.left, None, styles.HEADING.border.top, _STRONG)
        worksheet.column_dimensions[get_column_letter(index)].width = column.width + 1
    worksheet.row_dimensions[CAPTION_ROW].height = 18
    worksheet.row_dimensions[HEADING_ROW].height = 44 if sheet is not SETUP else 24
    frozen = "A" if sheet is SETUP else "B"
    worksheet.freeze_panes = f"{frozen}{FIRST_ROW}"
    wide = len(sheet.columns) > 20
    styles.print_setup(
        worksheet, HEADING_ROW, pages_wide=2 if wide else 1, title_columns="A:A" if sheet is not SETUP else ""
    )
    worksheet.print_title_rows = f"{CAPTION_ROW}:{HEADING_ROW}"
    worksheet.print_options.gridLines = sheet is not SETUP


def _heading_note(column: Column, needed: bool) -> str:
    parts = [column.note]
    if column.unit:
        parts.append(f"Unit: {column.unit}.")
    if column.decimals is not None:
        parts.append(f"Decimals: {column.decimals}.")
    if column.usual is not None:
        parts.append(f"Usually {_span(column)}.")
    if column.choices:
        parts.append(f"One of: {', '.join(column.choices)}.")
    if needed:
        parts.append("Bold: needed, or one way to give what is needed.")
    return "\n".join(parts)


def _span(column: Column) -> str:
    low, high = column.usual or (0.0, 0.0)
    return f"{low:g} to {high:g} {column.unit or ''}".rstrip()


def _comment(text: str) -> Comment:
    lines = sum(styles.lines_needed(line, 38) for line in text.split("\n"))
    return Comment(text, "batchcal", height=24 + 18 * lines, width=280)


def _body(worksheet: Worksheet, sheet: Sheet, filled: Prefill) -> None:
    for index, column in enumerate(sheet.columns, 1):
        form = _number_format(column)
        starts_group = index > 1 and column.field in GROUPS
        for row in range(FIRST_ROW, LAST_ROW + 1):
            cell = worksheet.cell(row, index)
            cell.number_format = form
        letter = get_column_letter(index)
        cells = f"{letter}{FIRST_ROW}:{letter}{LAST_ROW}"
        _validate(worksheet, column, cells, filled.offered(column.field))
        if column.usual is not None:
            _mark_unusual(worksheet, column, letter, cells)
        if starts_group:
            worksheet.conditional_formatting.add(
                cells,
                Rule("expression", formula=[f"LEN($A{FIRST_ROW})>0"], dxf=DifferentialStyle(border=Border(left=_LINE))),
            )


def _number_format(column: Column) -> str:
    if column.kind in ("id", "text", "choice"):
        return "@" if column.kind == "id" else "General"
    if column.kind == "date":
        return "yyyy-mm-dd"
    if column.kind == "time":
        return "hh:mm"
    return "0." + "0" * column.decimals if column.decimals else "0"


def _validate(worksheet: Worksheet, column: Column, cells: str, offered: Sequence[str]) -> None:
    if offered:
        text = f"Named when this workbook was made: {', '.join(offered)}. Keep another if it is right."
        rule = _list(offered, text, "warning")
    elif column.choices:
        rule = _list(column.choices, f"Choose one of: {', '.join(column.choices)}. It may stay blank.", "stop")
    elif column.kind == "date":
        rule = _rule("date", "greaterThan", ("36526",), "Type a day as 2024-05-31.", "warning")
    elif column.kind == "time":
        rule = _rule("time", "between", ("0", "0.999988426"), "Type the time as 14:05.", "warning")
    elif column.quantity in _NOT_BELOW_ZERO:
        rule = _rule("decimal", "greaterThanOrEqual", ("0",), "This must be a number, and not below 0.", "stop")
    elif column.usual is not None:
        low, high = (f"{limit:g}" for limit in column.usual)
        text = f"Usually a number from {_span(column)}. Keep it if it is right."
        rule = _rule("decimal", "between", (low, high), text, "warning")
    else:
        return
    rule.errorTitle = column.name[:32]
    _add_rule(worksheet, rule, cells)


def _mark_unusual(worksheet: Worksheet, column: Column, letter: str, cells: str) -> None:
    """Show what is outside the usual in bold, slanting and underlined, however it got into the cell."""
    low, high = column.usual or (0.0, 0.0)
    first = f"{letter}{FIRST_ROW}"
    formula = f"AND(ISNUMBER({first}),OR({first}<{low:g},{first}>{high:g}))"
    worksheet.conditional_formatting.add(
        cells, Rule("expression", formula=[formula], dxf=DifferentialStyle(font=_UNUSUAL))
    )


def _setup_rows(worksheet: Worksheet, filled: Prefill) -> None:
    shaded = False
    rows = [(item, entry) for item in SETUP_ITEMS for entry in filled.of(item)]
    for row, (item, entry) in enumerate(rows, FIRST_ROW):
        begins = item.key in SETUP_GROUPS and entry is filled.of(item)[0]
        shaded = shaded != begins
        name = own_cell(worksheet, row, 1)
        styles.write_text(name, f"{item.name} [{item.labelled}]" if item.labelled else item.name)
        name.comment = _comment(item.note)
        value, unit = own_cell(worksheet, row, 2), own_cell(worksheet, row, 3)
        styles.write_text(unit, item.unit or "")
        if entry is not None:
            _fill_in(worksheet, row, entry)
        edge = Side("thin", color=styles.LINE)
        top = Border(edge, edge, _STRONG if begins else edge, edge)
        for index, column in enumerate(SETUP.columns, 1):
            cell = own_cell(worksheet, row, index)
            cell.font = Font(styles.FONT, 10, color=styles.INK)
            cell.border = top
            cell.alignment = Alignment(horizontal="left", vertical="center", wrap_text=index in (2, 4), indent=1)
            if index == 1:
                cell.fill = styles.solid("E4ECE8" if shaded else "F7FAF8")
            if column.kind == "date":
                cell.number_format = "yyyy-mm-dd"
        value.number_format = _setup_format(item)
        _validate_setup(worksheet, item, value.coordinate)
        worksheet.row_dimensions[row].height = 18
    last = FIRST_ROW + len(rows) - 1
    dates = _rule("date", "greaterThan", ("36526",), "Type a day as 2024-05-31.", "warning")
    _add_rule(worksheet, dates, f"E{FIRST_ROW}:E{last}")


def _fill_in(worksheet: Worksheet, row: int, entry: Entry) -> None:
    """Put a prefilled entry into its row, with a note at its value that says where it comes from."""
    for column, text in enumerate((entry.name, entry.value, entry.unit, entry.source), 1):
        styles.write_text(own_cell(worksheet, row, column), text)
    own_cell(worksheet, row, 2).comment = _comment(entry.said)


def _setup_format(item: SetupItem) -> str:
    if item.kind == "date":
        return "yyyy-mm-dd"
    return "General" if item.kind == "number" else "@"


def _validate_setup(worksheet: Worksheet, item: SetupItem, cell: str) -> None:
    if item.kind == "choice":
        rule = _list(item.choices, f"Choose one of: {', '.join(item.choices)}.", "stop")
    elif item.kind == "date":
        rule = _rule("date", "greaterThan", ("36526",), "Type a day as 2024-05-31.", "warning")
    elif item.kind == "number" and (item.choices or item.from_method):
        # A word of the list or a number: the list is offered and nothing is refused.
        rule = _list((FROM_METHOD,) if item.from_method else item.choices, "", "warning")
        rule.showErrorMessage = False
    elif item.kind == "number":
        rule = _rule("decimal", "greaterThanOrEqual", ("0",), "This must be a number, and not below 0.", "stop")
    else:
        rule = DataValidation(allow_blank=True)
    rule.errorTitle = rule.promptTitle = item.name[:32]
    rule.prompt = shortened(item.note, _LONGEST_MESSAGE)
    rule.showInputMessage = True
    _add_rule(worksheet, rule, cell)


def _list(choices: Sequence[str], message: str, style: str) -> DataValidation:
    # In lists a comma parts the words; no word of ours holds one.
    return _rule("list", None, (f'"{",".join(choices)}"',), message, style)


def _rule(kind: str, operator: str | None, limits: Iterable[str], message: str, style: str) -> DataValidation:
    low, *high = limits
    rule = DataValidation(kind, low, high[0] if high else None, allow_blank=True, operator=operator)  # type: ignore[arg-type]
    rule.errorStyle = style  # type: ignore[assignment]
    rule.error = shortened(message, _LONGEST_MESSAGE)
    rule.showErrorMessage = True
    return rule


def _add_rule(worksheet: Worksheet, rule: DataValidation, cells: str) -> None:
    rule.add(cells)
    worksheet.add_data_validation(rule)
