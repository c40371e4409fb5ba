"""The notes of the blank workbook: at each heading what belongs there, its decimals, and where it is read."""

from openpyxl.comments import Comment

from batchcal.logged import AID_NUMBERS, aid_fields
from batchcal.workbook import styles
from batchcal.workbook.layout import Column

_BALANCE, _BURETTE, _THERMOMETER, _REPORT = "the balance", "the burette", "the thermometer", "the other bench's report"

READ_FROM = {
    "time": "the clock, when the charge is fired",
    "crucible_g": _BALANCE, "crucible_and_sample_g": _BALANCE, "mass_g": _BALANCE,
    "wire_fitted_cm": "the ruler", "wire_left_cm": "the ruler, pieces laid straight", "wire_mass_g": _BALANCE,
    "thread_g": _BALANCE, **{aid_fields(number)[1]: _BALANCE for number in AID_NUMBERS}, "capsule_mass_g": _BALANCE,
    "water_mL": "the pipette or measuring cylinder", "oxygen_pressure_MPa": "the gauge of the filling line",
    "initial_C": _THERMOMETER, "final_C": _THERMOMETER, "rise_K": "the thermometer or its indicator",
    "heat_exchange_K": "your own working of the readings",
    "concentration": "the standardisation, or the bottle", "burette_start_mL": _BURETTE, "burette_end_mL": _BURETTE,
    "titre_mL": _BURETTE, "blank_mL": _BURETTE, "baryta_mL": _BURETTE, "carbonate_mL": "the pipette or burette",
    "acid_mL": _BURETTE, "baryta_eq_per_L": "the standardisation", "carbonate_eq_per_L": "the standardisation",
    "acid_eq_per_L": "the standardisation",
    "moisture_analysis": _REPORT, "moisture_total": _REPORT, "ash": _REPORT, "sulphur": _REPORT, "hydrogen": _REPORT,
    "nitrogen": _REPORT, "oxygen": _REPORT, "volatile": _REPORT, "carbon": _REPORT, "chlorine": _REPORT,
    "time_min": "the clock or stop-watch", "temperature_C": _THERMOMETER, "portion_g": _BALANCE,
    "molar_mass_g_per_mol": "the certificate or label of the standard", "equivalents": "the reaction",
    "firings_since_service": "the bomb's own record", "firings_between_services": "the equipment's instructions",
}  # fmt: skip
"""Where the figure of each column of numbers or times is read."""


def heading_note(column: Column, *, needed: bool) -> str:
    """Return the note at a heading: what, the unit, the decimals, where it is read, what is usual, and its list."""
    parts = [column.note]
    figures = []
    if column.unit:
        figures.append(f"Unit: {column.unit}.")
    if column.decimals is not None:
        figures.append(f"Decimals: {column.decimals}." if column.decimals else "A whole number.")
    if figures:
        parts.append(" ".join(figures))
    if column.field in READ_FROM:
        parts.append(f"Read from: {READ_FROM[column.field]}.")
    if column.usual is not None:
        parts.append(f"Usually {span(column)}.")
    if column.kind == "date":
        parts.append("Type it as 2024-05-31.")
    if column.kind == "time":
        parts.append("Type it as 14:05.")
    if column.choices:
        parts.append(f"One of: {', '.join(column.choices)}.")
    if needed:
        parts.append("Bold: needed, or one way to give what is needed.")
    return "\n".join(parts)


def span(column: Column) -> str:
    """Return the usual span of a column of numbers, with its unit."""
    low, high = column.usual or (0.0, 0.0)
    return f"{low:g} to {high:g} {column.unit or ''}".rstrip()


def in_plain_type(text: str) -> str:
    """Return a text with words that are to be typed in quotation marks, as people write them."""
    return text.replace("`", '"')


def comment(text: str) -> Comment:
    """Return a note for a cell, with room for its text."""
    text = in_plain_type(text)
    lines = sum(styles.lines_needed(line, 38) for line in text.split("\n"))
    return Comment(text, "batchcal", height=24 + 18 * lines, width=280)
