"""Which cells of the blank workbook turn grey, to be left, by what was typed beside them and on Setup.

Each rule is a formula of the spreadsheet in which {field} stands for the cell of that column in the same row. A cell
that holds something never turns grey, and only the look changes: whatever is typed is read.
"""

from collections.abc import Iterator, Mapping

from openpyxl.formatting.rule import Rule
from openpyxl.styles import PatternFill
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.logged import aid_fields
from batchcal.terms import AcidScheme, Outcome, Purpose, Use
from batchcal.workbook.layout import Sheet

NAMED_ITEMS = ("acid_scheme", "fixed_ignition_heat")
"""Items of Setup whose values bear their key as a name, because the rules here look at them."""

LEAVE_TINT = "E6E8E7"
"""The grey of cells to leave; it stays light in print, so that a pencil can overrule it."""

_GREY = DifferentialStyle(fill=PatternFill("solid", bgColor=LEAVE_TINT, fgColor=LEAVE_TINT))
_BEGUN = "LEN({firing})>0"
_AID, _AID_MASS = aid_fields(1)
_AID_2, _AID_2_MASS = aid_fields(2)

_LENGTHS = "OR(LEN(fixed_ignition_heat)>0,LEN({wire_mass_g})>0)"
_NOT_FIRED = f'{{outcome}}="{Outcome.MISFIRE}",{{outcome}}="{Outcome.LEAK}"'
_TEMPERATURES = f"OR(LEN({{rise_K}})>0,{_NOT_FIRED})"
_NO_TITRE = (
    f'OR(acid_scheme="{AcidScheme.PROPORTION}",acid_scheme="{AcidScheme.FIXED}",acid_scheme="{AcidScheme.NONE}")'
)
_NOT_ONE = f'OR({_NO_TITRE},acid_scheme="{AcidScheme.TWO_TITRATIONS}")'
_NOT_TWO = f'AND(LEN(acid_scheme)>0,acid_scheme<>"{AcidScheme.TWO_TITRATIONS}")'

_FIRING = {
    "crucible_g": "LEN({mass_g})>0",
    "crucible_and_sample_g": "LEN({mass_g})>0",
    "mass_g": "OR(LEN({crucible_g})>0,LEN({crucible_and_sample_g})>0)",
    "wire_fitted_cm": _LENGTHS,
    "wire_left_cm": _LENGTHS,
    "wire_mass_g": "OR(LEN(fixed_ignition_heat)>0,LEN({wire_fitted_cm})>0)",
    "thread_g": "LEN(fixed_ignition_heat)>0",
    _AID_MASS: f"AND({_BEGUN},LEN({{{_AID}}})=0)",
    _AID_2: f"AND({_BEGUN},LEN({{{_AID}}})=0)",
    _AID_2_MASS: f"AND({_BEGUN},LEN({{{_AID_2}}})=0)",
    "capsule_in_tare": f"AND({_BEGUN},LEN({{capsule_mass_g}})=0)",
    "initial_C": _TEMPERATURES,
    "final_C": _TEMPERATURES,
    "rise_K": f"OR(LEN({{initial_C}})>0,LEN({{final_C}})>0,{_NOT_FIRED})",
    "heat_exchange_K": f"OR({_NOT_FIRED})",
    "reason": f'AND({_BEGUN},{{use}}<>"{Use.SET_ASIDE}",OR(LEN({{outcome}})=0,{{outcome}}="{Outcome.GOOD}"))',
}
_NO_SAMPLE = ",".join(f'{{purpose}}="{word}"' for word in (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID))

_RULES: Mapping[str, Mapping[str, str]] = {
    "calibration": _FIRING | dict.fromkeys(("sample", "replicate"), f'{{purpose}}<>"{Purpose.SAMPLE}"'),
    "runs": _FIRING
    | {"series": f'AND({_BEGUN},{{purpose}}<>"{Purpose.CALIBRATION}")'}
    | dict.fromkeys(("sample", "replicate"), f"OR({_NO_SAMPLE})"),
    "titration": {
        "burette_start_mL": f"OR({_NOT_ONE},LEN({{titre_mL}})>0)",
        "burette_end_mL": f"OR({_NOT_ONE},LEN({{titre_mL}})>0)",
        "titre_mL": f"OR({_NOT_ONE},LEN({{burette_start_mL}})>0,LEN({{burette_end_mL}})>0)",
        "blank_mL": _NO_TITRE,
        "firing": _NO_TITRE,
    }
    | dict.fromkeys(("titrant", "concentration", "concentration_unit"), _NOT_ONE)
    | dict.fromkeys(
        ("baryta_mL", "baryta_eq_per_L", "carbonate_mL", "carbonate_eq_per_L", "acid_mL", "acid_eq_per_L"), _NOT_TWO
    ),
    "samples": {"hydrogen_includes_moisture": "AND(LEN({sample})>0,LEN({hydrogen})=0)"},
}


def leave_rules(sheet: Sheet, cells: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield field and formula of each rule of a sheet; ``cells`` are the first cells of its columns, by field."""
    for field, formula in _RULES.get(sheet.role, {}).items():
        yield field, f"AND(LEN({cells[field]})=0,{formula.format_map(cells)})"


def mark_what_to_leave(worksheet: Worksheet, sheet: Sheet, cells: Mapping[str, str], ranges: Mapping[str, str]) -> None:
    """Make the cells of a sheet turn grey by the rules; ``ranges`` are the prepared cells of each column."""
    for field, formula in leave_rules(sheet, cells):
        worksheet.conditional_formatting.add(ranges[field], Rule("expression", formula=[formula], dxf=_GREY))
