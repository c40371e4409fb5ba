"""The sheets Results and Findings of the results workbook."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from batchcal.findings import CAUTION, Finding, Severity
from batchcal.logged import ColumnsFile
from batchcal.model import Evaluation, SampleResult
from batchcal.terms import BASIS_NAMES, NET_BASES, VALUE_NAMES, Basis, Decision
from batchcal.workbook import styles
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Content, Field, Item, write_band, write_line, write_table
from batchcal.workbook.targets import Targets, in_log
from batchcal.workbook.xlsx.geometry import Area
from batchcal.workbook.xlsx.links import Link

_LINES = 2
"""Column of Results in which single lines begin: the first one is printed on every side."""

_UNROUNDED = 13.5
"""Width in characters of the columns of unrounded figures."""

Printed = Callable[[float], str]
"""From J/g to the text of the printed figure in the report unit, rounded once."""


def fill_results(
    sheet: OwnSheet,
    evaluation: Evaluation,
    printed: Printed,
    targets: Targets,
    *,
    remarks: Sequence[str] = (),
) -> None:
    """Fill the sheet Results: one row a sample, what may be done with it, its values, and why.

    ``remarks`` are sentences on what this workbook lacks.
    """
    unit = evaluation.settings.report_unit
    values = (
        Field("Sample no.", 16),
        Field("Description", 22),
        Field("Decision", 12),
        *(Field(f"Gross, {BASIS_NAMES[basis]} ({unit})", 10.5, right=True) for basis in Basis),
        *(Field(f"Net, {BASIS_NAMES[basis]} ({unit})", 10.5, right=True) for basis in NET_BASES),
        Field("Value is the", 20),
        Field(f"Expanded uncertainty ({unit})", 26),
    )
    # Together with the samples a little wider than the values, so that a printed side ends between the two.
    grounds = (
        Field("Reason", 38),
        Field("Next step", 40),
        Field("Firings", 9, right=True),
        Field("Range (J/g)", 9, right=True),
        Field("Limit (J/g)", 9, right=True),
        Field("Limit less range (J/g)", 10, right=True),
        Field("Further-test rule", 12),
        Field("Net rests on", 26),
    )
    unrounded = (
        *(Field(f"Gross, {BASIS_NAMES[basis]}, unrounded (J/g)", _UNROUNDED, right=True) for basis in Basis),
        *(Field(f"Expanded uncertainty, {name}, unrounded (J/g)", _UNROUNDED, right=True)
          for name in VALUE_NAMES.values()),
    )  # fmt: skip
    fields = (*values, *grounds, *unrounded)
    last_printed = len(values) + len(grounds)
    sheet.widths = [field.width for field in fields]
    sheet.folded = len(unrounded)

    row = _head(sheet, evaluation, "Results", column=_LINES)
    counts = dict.fromkeys(Decision, 0)
    for sample in evaluation.samples:
        counts[sample.decision] += 1
    row = write_line(sheet, row, _counted_decisions(counts), styles.SECTION_PLAIN, height=20, column=_LINES)
    row = write_line(sheet, row, evaluation.release.words, styles.SUBTITLE, column=_LINES)
    found = _counted_findings(evaluation.findings)
    if found:
        to_findings = Link(targets.findings_sheet, "A1", f"To the sheet {targets.findings_sheet}")
        row = write_line(sheet, row, f"Findings: {found}", styles.SUBTITLE, link=to_findings, column=_LINES)
    row = _caution(sheet, row, evaluation, len(values), column=_LINES)
    for remark in remarks:
        row = write_line(
            sheet, row, f"{styles.SEVERITY_SHAPES[Severity.REVIEW]} {remark}", styles.NOTICE, column=_LINES
        )
    heading = row + 1
    targets.results.update({sample.sample: heading + n for n, sample in enumerate(evaluation.samples, 1)})
    rows = (_sample_row(sample, printed, targets) for sample in evaluation.samples)
    row = write_table(sheet, heading, fields, rows)
    if evaluation.samples:
        sheet.filtered = Area(heading, 1, row - 1, last_printed)
    for text in (
        f"Reported figures are in {unit}, rounded once, at the end; the unrounded figures in J/g stand at the right.",
        "Figures in ( ) slant: they are shown and not released. An empty cell: not computed.",
    ):
        row = write_line(sheet, row, text, styles.SUBTITLE, column=_LINES)
    settings = evaluation.settings
    for role, name in (("Analyst", settings.analyst), ("Reviewer", settings.reviewer)):
        text = f"{role}: {name or '.' * 30}     Signature: {'.' * 40}     Date: {'.' * 20}"
        row = write_line(sheet, row + 1, text, styles.SUBTITLE, column=_LINES)
    sheet.still = (heading, 1)
    sheet.set_height(heading, 54)
    sheet.pages_wide, sheet.title_rows, sheet.title_columns = 2, f"{heading}:{heading}", "A:A"
    # The unrounded figures stand at the right for whoever looks; the printed sheet ends before them.
    sheet.printed = Area(1, 1, row, last_printed)


def _sample_row(sample: SampleResult, printed: Printed, targets: Targets) -> list[Content]:
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
    found = targets.in_order(sample.findings)
    decision = f"{styles.DECISION_SHAPES[sample.decision]} {sample.decision}"
    return [
        Item(sample.sample, style=styles.STRONG, link=_row_of(sample)),
        "" if sample.row is None else sample.row.description,
        Item(decision, style=styles.STRONG, link=targets.finding(found[0]) if found else None),
        *report,
        *net,
        Item(sample.statistic, link=targets.worked(sample.sample) if sample.statistic else None),
        _uncertainty_words(sample, printed),
        sample.why,
        sample.next_step,
        Item(float(sample.n_used), "0", link=_firings_of(sample)),
        Item(sample.range_J_per_g, "0.0"),
        Item(sample.limit_J_per_g, "0.0"),
        Item(sample.margin_J_per_g, "0.0"),
        str(sample.rule),
        _net_words(sample),
        *full,
        *(Item(_expanded(sample, value), "0.0", value_style) for value in VALUE_NAMES),
    ]


def _row_of(sample: SampleResult) -> Link | None:
    """Return the link to the row of a sample, or of its first firing where it has none of its own."""
    if sample.row is not None:
        return in_log(sample.row.place, "sample")
    return _firings_of(sample)


def _firings_of(sample: SampleResult) -> Link | None:
    """Return the link to the first firing of a sample."""
    return in_log(sample.firings[0].row.place, "firing") if sample.firings else None


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


def fill_findings(sheet: OwnSheet, evaluation: Evaluation, targets: Targets) -> None:
    """Fill the sheet Findings: most severe first, each leading to its cell and to its sample's results."""
    fields = (
        Field("Severity", 11),
        Field("Code", 24),
        Field("Where", 20),
        Field("Firing", 9),
        Field("Sample", 14),
        Field("What was seen", 58),
        Field("What to do", 52),
    )
    sheet.widths = [field.width for field in fields]
    findings = targets.findings
    row = _head(sheet, evaluation, "Findings")
    text = _counted_findings(findings) or "Nothing was found to be wrong."
    row = write_line(sheet, row, text, styles.SECTION_PLAIN, height=20)
    row = _caution(sheet, row, evaluation, len(fields))
    row = write_line(
        sheet,
        row,
        "Safety and block stop a release; review and note never do. Each place leads to its cell, each sample to its "
        "results. Correct your own workbook, not this one, and run again.",
        styles.SUBTITLE,
    )
    heading = row + 1
    targets.first_finding = heading + 1
    rows = (_finding_row(finding, evaluation.batch.columns, targets) for finding in findings)
    last = write_table(sheet, heading, fields, rows) - 1
    if findings:
        sheet.filtered = Area(heading, 1, last, len(fields))
    sheet.still = (heading, 0)
    sheet.set_height(heading, 24)
    sheet.title_rows = f"{heading}:{heading}"


def _finding_row(finding: Finding, columns: ColumnsFile | None, targets: Targets) -> list[Content]:
    where: Content = finding.where
    in_map = columns is not None and finding.sheet == columns.file_name
    if finding.sheet is not None and not in_map:
        where = Item(finding.where, link=Link(finding.sheet, finding.cell or f"A{finding.row or 1}"))
    strong = finding.severity.stops
    sample = finding.sample or ""
    return [
        Item(
            f"{styles.SEVERITY_SHAPES[finding.severity]} {finding.severity}",
            style=styles.STRONG if strong else styles.TEXT,
        ),
        finding.code,
        where or "the whole workbook",
        finding.firing or "",
        Item(sample, link=targets.result(sample) if sample in targets.results else None),
        finding.message,
        finding.remedy,
    ]


def _head(sheet: OwnSheet, evaluation: Evaluation, title: str, *, column: int = 1) -> int:
    settings = evaluation.settings
    row = write_line(sheet, 1, title, styles.TITLE, height=28, column=column)
    day = settings.batch_date.isoformat() if settings.batch_date else ""
    method = f"method {settings.method}" if settings.method else "no method chosen"
    parts = [settings.laboratory, settings.batch, day, method, evaluation.batch.file_name]
    text = "   |   ".join(part for part in parts if part)
    return write_line(sheet, row, text, styles.SUBTITLE, height=18, column=column)


def _caution(sheet: OwnSheet, row: int, evaluation: Evaluation, columns: int, *, column: int = 1) -> int:
    count = sum(finding.severity is Severity.SAFETY for finding in evaluation.findings)
    if not count:
        return row
    text = f"{styles.SEVERITY_SHAPES[Severity.SAFETY]} Caution: {count} safety finding{'s' if count > 1 else ''}. "
    return write_band(sheet, row, f"{text}{CAUTION}", styles.CAUTION_BAND, columns=columns, column=column)


def _counted_findings(findings: Iterable[Finding]) -> str:
    counts = Counter(finding.severity for finding in findings)
    shown = [(severity, counts[severity]) for severity in Severity if counts[severity]]
    return "     ".join(f"{styles.SEVERITY_SHAPES[severity]} {count} {severity}" for severity, count in shown)


def _counted_decisions(counts: dict[Decision, int]) -> str:
    shown = [(decision, count) for decision, count in counts.items() if count]
    return "     ".join(f"{styles.DECISION_SHAPES[decision]} {count} {decision}" for decision, count in shown) or (
        "No samples."
    )
