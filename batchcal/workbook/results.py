"""The sheets Results and Findings of the results workbook."""

from collections.abc import Callable

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.findings import CAUTION, Finding, Severity, in_order
from batchcal.logged import ColumnsFile
from batchcal.model import Evaluation, SampleResult
from batchcal.terms import BASIS_NAMES, NET_BASES, VALUE_NAMES, Basis, Decision
from batchcal.workbook import styles
from batchcal.workbook.styles import Look
from batchcal.workbook.tables import Content, Field, Item, set_field_widths, write_band, write_line, write_table

Printed = Callable[[float], str]
"""From J/g to the text of the printed figure in the report unit, rounded once."""


def fill_results(sheet: Worksheet, look: Look, evaluation: Evaluation, printed: Printed) -> None:
    """Fill the sheet Results: one row a sample, what may be done with it, why, and its values."""
    unit = evaluation.settings.report_unit
    judged = (
        Field("Sample no.", 12),
        Field("Description", 20),
        Field("Decision", 11),
        Field("Reason", 30),
        Field("Next step", 30),
        Field("Firings", 8, right=True),
        Field("Range (J/g)", 8.5, right=True),
        Field("Limit (J/g)", 8.5, right=True),
        Field("Limit less range (J/g)", 9.5, right=True),
        Field("Further-test rule", 11),
        Field("Value is the", 11),
    )
    report = tuple(Field(f"Gross, {BASIS_NAMES[basis]} ({unit})", 10.5, right=True) for basis in Basis)
    net = tuple(Field(f"Net, {BASIS_NAMES[basis]} ({unit})", 10.5, right=True) for basis in NET_BASES)
    full = tuple(Field(f"Gross, {BASIS_NAMES[basis]}, unrounded (J/g)", 13.5, right=True) for basis in Basis)
    spread = tuple(
        Field(f"Expanded uncertainty, {name}, unrounded (J/g)", 13.5, right=True) for name in VALUE_NAMES.values()
    )
    words = (Field("Net rests on", 24), Field(f"Expanded uncertainty ({unit})", 24))
    unprinted = (*full, *spread)
    fields = (*judged, *report, *net, *words, *unprinted)
    set_field_widths(sheet, fields)

    row = _head(sheet, look, evaluation, "Results")
    counts = dict.fromkeys(Decision, 0)
    for sample in evaluation.samples:
        counts[sample.decision] += 1
    row = write_line(sheet, look, row, _counted_decisions(counts), styles.SECTION_PLAIN, height=20)
    row = write_line(sheet, look, row, evaluation.release.words, styles.SUBTITLE)
    row = _caution(sheet, look, row, evaluation, len(judged) + len(report) + len(net))
    for text in (
        f"Reported figures are in {unit}, rounded once, at the end; the unrounded figures in J/g stand at the right.",
        "Figures in ( ) slant: they are shown and not released. An empty cell: not computed.",
    ):
        row = write_line(sheet, look, row, text, styles.SUBTITLE)
    row += 1
    heading = row
    row = write_table(sheet, look, heading, fields, (_sample_row(sample, printed) for sample in evaluation.samples))
    settings = evaluation.settings
    for role, name in (("Analyst", settings.analyst), ("Reviewer", settings.reviewer)):
        text = f"{role}: {name or '.' * 30}     Signature: {'.' * 40}     Date: {'.' * 20}"
        row = write_line(sheet, look, row + 1, text, styles.SUBTITLE)
    sheet.freeze_panes = f"B{heading + 1}"
    sheet.row_dimensions[heading].height = 54
    styles.print_setup(sheet, heading)
    # The unrounded figures stand at the right for whoever looks; the printed sheet ends before them.
    sheet.print_area = f"A1:{get_column_letter(len(fields) - len(unprinted))}{row}"


def _sample_row(sample: SampleResult, printed: Printed) -> list[Content]:
    released = sample.decision is Decision.READY
    value_style = styles.NUMBER if released else styles.HELD
    report: list[Content] = []
    full: list[Content] = []
    for basis in Basis:
        value = sample.gross_J_per_g.get(basis)
        report.append(None if value is None else _printed(printed(value), released=released))
        full.append(Item(value, _form(1, released=released), value_style))
    net: list[Content] = []
    for basis in NET_BASES:
        value = sample.net.constant_pressure.get(basis)
        net.append(None if value is None else _printed(printed(value), released=released))
    return [
        Item(sample.sample, style=styles.STRONG),
        "" if sample.row is None else sample.row.description,
        Item(f"{styles.DECISION_SHAPES[sample.decision]} {sample.decision}", style=styles.STRONG),
        sample.why,
        sample.next_step,
        Item(float(sample.n_used), "0"),
        Item(sample.range_J_per_g, "0.0"),
        Item(sample.limit_J_per_g, "0.0"),
        Item(sample.margin_J_per_g, "0.0"),
        str(sample.rule),
        sample.statistic,
        *report,
        *net,
        _net_words(sample),
        _uncertainty_words(sample, printed),
        *full,
        *(Item(_expanded(sample, value), "0.0", value_style) for value in VALUE_NAMES),
    ]


def _expanded(sample: SampleResult, value: str) -> float | None:
    entry = sample.uncertainty.get(value)
    return None if entry is None or not entry.complete else entry.expanded_J_per_g


def _uncertainty_words(sample: SampleResult, printed: Printed) -> str:
    """Return the expanded uncertainties as they are printed, or what is lacking for them."""
    known = {value: _expanded(sample, value) for value in VALUE_NAMES}
    texts = [f"{VALUE_NAMES[value]} {printed(figure)}" for value, figure in known.items() if figure is not None]
    factors = {f"{entry.coverage_factor:g}" for entry in sample.uncertainty.values()}
    if texts:
        return f"k = {', '.join(factors)}: " + ", ".join(texts)
    if sample.uncertainty_note:
        return f"not stated: {sample.uncertainty_note}"
    lacking = dict.fromkeys(part for entry in sample.uncertainty.values() for part in entry.missing)
    return f"not stated, for want of: {', '.join(lacking)}" if lacking else ""


def _net_words(sample: SampleResult) -> str:
    """Return what the net values rest on, or why there are none; they are at constant pressure."""
    notes = "; ".join(sample.net.notes)
    if not sample.net.known:
        return f"not computed: {notes or 'there is no gross value'}"
    return notes or "contents as given; constant pressure"


def _printed(text: str, *, released: bool) -> Item:
    """Return the printed figure as a number that shows the very digits of its text."""
    style = styles.STRONG_NUMBER if released else styles.HELD
    try:
        value = float(text)
    except ValueError:
        return Item(text, style=style)
    return Item(value, _form(len(text.partition(".")[2]), released=released), style)


def _form(decimals: int, *, released: bool) -> str:
    digits = "0." + "0" * decimals if decimals else "0"
    return digits if released else f'"("{digits}")"'


def fill_findings(sheet: Worksheet, look: Look, evaluation: Evaluation) -> None:
    """Fill the sheet Findings: most severe first, each leading to its cell."""
    fields = (
        Field("Severity", 11),
        Field("Code", 24),
        Field("Where", 18),
        Field("Firing", 9),
        Field("Sample", 12),
        Field("What was seen", 58),
        Field("What to do", 52),
    )
    set_field_widths(sheet, fields)
    findings = in_order(list(evaluation.findings))
    columns = evaluation.batch.columns
    row = _head(sheet, look, evaluation, "Findings")
    counts = [(severity, sum(finding.severity is severity for finding in findings)) for severity in Severity]
    text = "     ".join(f"{styles.SEVERITY_SHAPES[severity]} {count} {severity}" for severity, count in counts if count)
    row = write_line(sheet, look, row, text or "Nothing was found to be wrong.", styles.SECTION_PLAIN, height=20)
    row = _caution(sheet, look, row, evaluation, len(fields))
    row = write_line(
        sheet,
        look,
        row,
        "Safety and block stop a release; review and note never do. Each place leads to its cell. "
        "Correct your own workbook, not this one, and run again.",
        styles.SUBTITLE,
    )
    heading = row + 1
    last = write_table(sheet, look, heading, fields, (_finding_row(finding, columns) for finding in findings)) - 1
    if findings:
        sheet.auto_filter.ref = f"A{heading}:{get_column_letter(len(fields))}{last}"
    sheet.freeze_panes = f"A{heading + 1}"
    sheet.row_dimensions[heading].height = 24
    styles.print_setup(sheet, heading)


def _finding_row(finding: Finding, columns: ColumnsFile | None) -> list[Content]:
    where: Content = finding.where
    in_map = columns is not None and finding.sheet == columns.file_name
    if finding.sheet is not None and not in_map:
        address = finding.cell or f"A{finding.row or 1}"
        where = Item(finding.where, style=styles.WHERE, link=(finding.sheet, address))
    strong = finding.severity.stops
    return [
        Item(
            f"{styles.SEVERITY_SHAPES[finding.severity]} {finding.severity}",
            style=styles.STRONG if strong else styles.TEXT,
        ),
        finding.code,
        where or "the whole workbook",
        finding.firing or "",
        finding.sample or "",
        finding.message,
        finding.remedy,
    ]


def _head(sheet: Worksheet, look: Look, evaluation: Evaluation, title: str) -> int:
    settings = evaluation.settings
    row = write_line(sheet, look, 1, title, styles.TITLE, height=28)
    day = settings.batch_date.isoformat() if settings.batch_date else ""
    method = f"method {settings.method}" if settings.method else "no method chosen"
    parts = [settings.laboratory, settings.batch, day, method, evaluation.batch.file_name]
    return write_line(sheet, look, row, "   |   ".join(part for part in parts if part), styles.SUBTITLE, height=18)


def _caution(sheet: Worksheet, look: Look, row: int, evaluation: Evaluation, columns: int) -> int:
    count = sum(finding.severity is Severity.SAFETY for finding in evaluation.findings)
    if not count:
        return row
    text = f"{styles.SEVERITY_SHAPES[Severity.SAFETY]} Caution: {count} safety finding{'s' if count > 1 else ''}. "
    return write_band(sheet, look, row, f"{text}{CAUTION}", styles.CAUTION_BAND, columns=columns)


def _counted_decisions(counts: dict[Decision, int]) -> str:
    shown = [(decision, count) for decision, count in counts.items() if count]
    return "     ".join(f"{styles.DECISION_SHAPES[decision]} {count} {decision}" for decision, count in shown) or (
        "No samples."
    )
