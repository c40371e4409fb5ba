"""The sheets Results and Findings of the results workbook."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache, partial
from itertools import chain

from batchcal.findings import CAUTION, Finding, Severity
from batchcal.model import Evaluation, SampleResult, Uncertainty
from batchcal.terms import BASIS_NAMES, NET_BASES, VALUE_NAMES, Basis, Decision
from batchcal.workbook import styles
from batchcal.workbook.own_cells import Look
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Column, Looks, write_band, write_line, write_table
from batchcal.workbook.targets import Targets, in_log
from batchcal.workbook.xlsx.geometry import Area
from batchcal.workbook.xlsx.links import Link

_LINES = 2
"""Column of Results in which single lines begin: the first one is printed on every side."""

_UNROUNDED = 13.5
"""Width in characters of the columns of unrounded figures."""

_STRONG = Look(styles.STRONG)
_PLAIN_NUMBER = Look(styles.NUMBER)
_TENTHS = Look(styles.NUMBER, "0.0")
_BY_SEVERITY = Looks[Finding](lambda finding: finding.severity.stops, {True: _STRONG, False: Look(styles.TEXT)})
_SEVERITIES = {severity: f"{shape} {severity}" for severity, shape in styles.SEVERITY_SHAPES.items()}
_DECISIONS = {decision: f"{shape} {decision}" for decision, shape in styles.DECISION_SHAPES.items()}

Printed = Callable[[float], str]
"""From J/g to the text of the printed figure in the report unit, rounded once, always with as many decimals."""

Figure = Callable[[SampleResult], float | None]


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
    values: tuple[Column[SampleResult], ...] = (
        Column("Sample no.", 16, lambda sample: sample.sample, _STRONG, link=_row_of),
        Column("Description", 22, lambda sample: "" if sample.row is None else sample.row.description),
        Column(
            "Decision",
            12,
            lambda sample: _DECISIONS[sample.decision],
            _STRONG,
            link=lambda sample: targets.first_of(sample.findings),
        ),
        *(_printed(f"Gross, {BASIS_NAMES[basis]} ({unit})", _gross(basis), printed) for basis in Basis),
        *(_printed(f"Net, {BASIS_NAMES[basis]} ({unit})", _net(basis), printed) for basis in NET_BASES),
        Column(
            "Value is the",
            20,
            lambda sample: sample.statistic,
            link=lambda sample: targets.worked(sample.sample) if sample.statistic else None,
        ),
        Column(f"Expanded uncertainty ({unit})", 44, lambda sample: _uncertainty_words(sample, printed)),
    )
    # Together with the samples a little wider than the values, so that a printed side ends between the two.
    grounds: tuple[Column[SampleResult], ...] = (
        Column("Reason", 48, lambda sample: sample.why),
        Column("Next step", 50, lambda sample: sample.next_step),
        Column(
            "Firings", 9, lambda sample: float(sample.n_used), Look(styles.NUMBER, "0"), right=True, link=_firings_of
        ),
        Column("Range (J/g)", 9, lambda sample: sample.range_J_per_g, _TENTHS, right=True),
        Column("Limit (J/g)", 9, lambda sample: sample.limit_J_per_g, _TENTHS, right=True),
        Column("Limit less range (J/g)", 10, lambda sample: sample.margin_J_per_g, _TENTHS, right=True),
        Column("Further-test rule", 12, lambda sample: str(sample.rule)),
        Column("Net rests on", 26, _net_words),
    )
    unrounded = (
        *(_unrounded(f"Gross, {BASIS_NAMES[basis]}", _gross(basis), _in_brackets("0.0")) for basis in Basis),
        *(_unrounded(f"Expanded uncertainty, {name}", _expanded(value), "0.0") for value, name in VALUE_NAMES.items()),
    )
    columns = (*values, *grounds, *unrounded)
    last_printed = len(values) + len(grounds)
    sheet.widths = [column.width for column in columns]
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
    row = write_table(sheet, heading, columns, evaluation.samples)
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


def _gross(basis: Basis) -> Figure:
    return lambda sample: sample.gross_J_per_g.get(basis)


def _net(basis: Basis) -> Figure:
    return lambda sample: sample.net.constant_pressure.get(basis)


def _expanded(value: str) -> Figure:
    return lambda sample: _complete(sample.uncertainty.get(value))


def _complete(uncertainty: Uncertainty | None) -> float | None:
    return None if uncertainty is None or not uncertainty.complete else uncertainty.expanded_J_per_g


def _printed(heading: str, figure: Figure, printed: Printed) -> Column[SampleResult]:
    """Return a column of figures as they are printed, by numbers that show the very digits of their texts."""
    decimals = len(printed(0.0).partition(".")[2])
    form = "0." + "0" * decimals if decimals else "0"
    looks = _by_release(Look(styles.STRONG_NUMBER, form), Look(styles.HELD, _in_brackets(form)))
    return Column(
        heading, 10.5, figure, looks, right=True, blank=_PLAIN_NUMBER, rounded=lambda value: float(printed(value))
    )


def _unrounded(heading: str, figure: Figure, held_form: str) -> Column[SampleResult]:
    looks = _by_release(_TENTHS, Look(styles.HELD, held_form))
    return Column(f"{heading}, unrounded (J/g)", _UNROUNDED, figure, looks, right=True)


def _by_release(released: Look, held: Look) -> Looks[SampleResult]:
    return Looks(_is_ready, {True: released, False: held})


def _is_ready(sample: SampleResult) -> bool:
    return sample.decision is Decision.READY


def _in_brackets(form: str) -> str:
    return f'"("{form}")"'


def _row_of(sample: SampleResult) -> Link | None:
    """Return the link to the row of a sample, or of its first firing where it has none of its own."""
    if sample.row is not None:
        return in_log(sample.row.place, "sample")
    return _firings_of(sample)


def _firings_of(sample: SampleResult) -> Link | None:
    """Return the link to the first firing of a sample."""
    return in_log(sample.firings[0].row.place, "firing") if sample.firings else None


def _uncertainty_words(sample: SampleResult, printed: Printed) -> str:
    """Return the expanded uncertainties as they are printed, or what is lacking for them."""
    entries = sample.uncertainty
    known = {value: figure for value in VALUE_NAMES if (figure := _complete(entries.get(value))) is not None}
    if known:
        factors = dict.fromkeys(f"{entry.coverage_factor:g}" for entry in entries.values())
        texts = [f"{VALUE_NAMES[value]} {printed(figure)}" for value, figure in known.items()]
        return f"k = {', '.join(factors)}: " + ", ".join(texts)
    if sample.uncertainty_note:
        return f"not stated: {sample.uncertainty_note}"
    return _lacking(tuple(entry.missing for entry in entries.values()))


@lru_cache(100)
def _lacking(missing: tuple[tuple[str, ...], ...]) -> str:
    """Return what is lacking for uncertainties in words; of a long log many samples lack the same."""
    parts = dict.fromkeys(chain.from_iterable(missing))
    return f"not stated, for want of: {', '.join(parts)}" if parts else ""


def _net_words(sample: SampleResult) -> str:
    """Return what the net values rest on, or why there are none; they are at constant pressure."""
    notes = "; ".join(sample.net.notes)
    if not sample.net.known:
        return f"not computed: {notes or 'there is no gross value'}"
    return notes or "contents as given; constant pressure"


def fill_findings(sheet: OwnSheet, evaluation: Evaluation, targets: Targets) -> None:
    """Fill the sheet Findings: most severe first, each leading to its cell and to its sample's results."""
    map_file = None if evaluation.batch.columns is None else evaluation.batch.columns.file_name
    columns: tuple[Column[Finding], ...] = (
        Column("Severity", 11, lambda finding: _SEVERITIES[finding.severity], _BY_SEVERITY),
        Column("Code", 24, lambda finding: finding.code),
        Column("Where", 20, lambda finding: finding.where or "the whole workbook", link=partial(_place_of, map_file)),
        Column("Firing", 9, lambda finding: finding.firing or ""),
        Column(
            "Sample",
            14,
            lambda finding: finding.sample or "",
            link=lambda finding: targets.result(finding.sample) if finding.sample in targets.results else None,
        ),
        Column("What was seen", 58, lambda finding: finding.message),
        Column("What to do", 52, lambda finding: finding.remedy),
    )
    sheet.widths = [column.width for column in columns]
    findings = targets.findings
    row = _head(sheet, evaluation, "Findings")
    text = _counted_findings(findings) or "Nothing was found to be wrong."
    row = write_line(sheet, row, text, styles.SECTION_PLAIN, height=20)
    row = _caution(sheet, row, evaluation, len(columns))
    row = write_line(
        sheet,
        row,
        "Safety and block stop a release; review and note never do. Each place leads to its cell, each sample to its "
        "results. Correct your own workbook, not this one, and run again.",
        styles.SUBTITLE,
    )
    heading = row + 1
    targets.first_finding = heading + 1
    last = write_table(sheet, heading, columns, findings) - 1
    if findings:
        sheet.filtered = Area(heading, 1, last, len(columns))
    sheet.still = (heading, 0)
    sheet.set_height(heading, 24)
    sheet.title_rows = f"{heading}:{heading}"


def _place_of(map_file: str | None, finding: Finding) -> Link | None:
    """Return the link to where a finding stands; None for the whole workbook, and for the file of a column map."""
    if finding.sheet is None or finding.sheet == map_file:
        return None
    return Link(finding.sheet, finding.cell or f"A{finding.row or 1}")


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
