"""What the cells of the blank workbook take: closed lists and the impossible are refused, the unusual is only asked.

A cell can hold one rule. Where a quantity can be impossible, the rule refuses that and the unusual is shown by the
look of the figure; elsewhere the rule asks about the unusual, and a figure that is kept is shown so as well.
"""

from collections.abc import Iterable, Sequence

from openpyxl.formatting.rule import Rule
from openpyxl.styles import Font
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.items import SetupItem
from batchcal.terms import FROM_METHOD
from batchcal.workbook.cells import shortened
from batchcal.workbook.layout import Column
from batchcal.workbook.notes import in_plain_type, span

UNUSUAL_INK = "8A3B12"
"""Colour of a figure outside the usual, which is bold, slanting and underlined too."""

_UNUSUAL = DifferentialStyle(font=Font(b=True, i=True, u="single", color=UNUSUAL_INK))

_LONGEST_MESSAGE = 225
"""Characters that the messages of a validation hold."""

_NEVER_BELOW_ZERO = ("mass", "length", "volume", "pressure", "concentration", "molar mass")
"""Quantities that cannot be negative, whatever unit a heading is given."""

_DAY, _TIME = "Type a day as 2024-05-31.", "Type the time as 14:05."


def number_format(column: Column) -> str:
    """Return the format of a column's cells: its usual decimals are always shown, and further ones that are typed."""
    if column.kind == "id":
        return "@"
    if column.kind == "date":
        return "yyyy-mm-dd"
    if column.kind == "time":
        return "hh:mm"
    return f"0.{'0' * column.decimals}###" if column.decimals else "General"


def validate(worksheet: Worksheet, column: Column, cells: str, offered: Sequence[str]) -> None:
    """Put the rule of a column on its cells; ``offered`` are names to choose from beside which others may be typed."""
    if offered:
        text = f"Named when this workbook was made: {', '.join(offered)}. Keep another if it is right."
        rule = _list(offered, text, "warning")
    elif column.choices:
        rule = _list(column.choices, f"Choose one of: {', '.join(column.choices)}. It may stay blank.", "stop")
    elif column.kind == "date":
        rule = _rule("date", "greaterThan", ("36526",), _DAY, "warning")
    elif column.kind == "time":
        rule = _rule("time", "between", ("0", "0.999988426"), _TIME, "warning")
    elif column.quantity == "percentage":
        rule = _rule("decimal", "between", ("0", "100"), "This must be a number from 0 to 100.", "stop")
    elif column.kind == "number" and (column.quantity in _NEVER_BELOW_ZERO or column.quantity is None):
        rule = _not_below_zero()
    elif column.usual is not None:
        low, high = (f"{limit:g}" for limit in column.usual)
        text = f"Usually a number from {span(column)}. Keep it if it is right."
        rule = _rule("decimal", "between", (low, high), text, "warning")
    else:
        return
    rule.errorTitle = column.name[:32]
    _add_rule(worksheet, rule, cells)


def mark_unusual(worksheet: Worksheet, column: Column, first: str, cells: str) -> None:
    """Show what is outside the usual in bold, slanting and underlined, however it got into the cell."""
    low, high = column.usual or (0.0, 0.0)
    formula = f"AND(ISNUMBER({first}),OR({first}<{low:g},{first}>{high:g}))"
    worksheet.conditional_formatting.add(cells, Rule("expression", formula=[formula], dxf=_UNUSUAL))


def setup_format(item: SetupItem) -> str:
    """Return the format of the value of an item of Setup."""
    if item.kind == "date":
        return "yyyy-mm-dd"
    return "General" if item.kind == "number" else "@"


def validate_setup(worksheet: Worksheet, item: SetupItem, cell: str) -> None:
    """Put the rule of an item on the cell of its value, with its note shown when the cell is entered."""
    if item.kind == "choice":
        rule = _list(item.choices, f"Choose one of: {', '.join(item.choices)}.", "stop")
    elif item.kind == "date":
        rule = _rule("date", "greaterThan", ("36526",), _DAY, "warning")
    elif item.kind == "number" and (item.choices or item.from_method):
        # A word of the list or a number: the list is offered and nothing is refused.
        rule = _list((FROM_METHOD,) if item.from_method else item.choices, "", "warning")
        rule.showErrorMessage = False
    elif item.kind == "number":
        rule = _not_below_zero()
    else:
        rule = DataValidation(allow_blank=True)
    rule.errorTitle = rule.promptTitle = item.name[:32]
    rule.prompt = shortened(in_plain_type(item.note), _LONGEST_MESSAGE)
    rule.showInputMessage = True
    _add_rule(worksheet, rule, cell)


def validate_days(worksheet: Worksheet, cells: str) -> None:
    """Ask about what is no day in the cells of a column of dates."""
    _add_rule(worksheet, _rule("date", "greaterThan", ("36526",), _DAY, "warning"), cells)


def _not_below_zero() -> DataValidation:
    return _rule("decimal", "greaterThanOrEqual", ("0",), "This must be a number, and not below 0.", "stop")


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
