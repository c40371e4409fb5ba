"""The table of verdicts for the terminal: one line a sample."""

from collections import Counter
from collections.abc import Callable

from batchcal.findings import Severity
from batchcal.model import Evaluation
from batchcal.tables import table
from batchcal.terms import Basis, Decision

_HEADINGS = ("sample", "decision", "n", "range J/g", "limit J/g")


def verdict_table(evaluation: Evaluation, printed: Callable[[float], str]) -> list[str]:
    """Return the lines of the table: every sample with its decision and its values in the report unit."""
    unit = evaluation.settings.report_unit
    bases = (Basis.AS_ANALYSED, Basis.DRY)
    rows = []
    for sample in evaluation.samples:
        values = [sample.gross_J_per_g[basis] for basis in bases]
        rows.append(
            (
                sample.sample,
                str(sample.decision),
                str(sample.n_used),
                *(_fixed(number) for number in (sample.range_J_per_g, sample.limit_J_per_g)),
                *("-" if value is None else printed(value) for value in values),
            )
        )
    headings = (*_HEADINGS, *(f"gross {basis} {unit}" for basis in bases))
    return table(headings, rows, right=range(2, len(headings)))


def verdict_line(evaluation: Evaluation) -> str:
    """Return the day in one line: how many samples are ready, and how many findings of each severity there are."""
    decisions = Counter(sample.decision for sample in evaluation.samples)
    severities = Counter(finding.severity for finding in evaluation.findings)
    over = sum(bool(sample.released_over) for sample in evaluation.samples)
    remarks = {Decision.READY: f" ({over} over a finding)" if over else ""}
    samples = ", ".join(
        f"{decisions[decision]} {decision}{remarks.get(decision, '')}" for decision in Decision if decisions[decision]
    )
    counted = ", ".join(f"{severities[severity]} {severity}" for severity in Severity if severities[severity])
    return f"{samples or 'no samples'}; findings: {counted or 'none'}"


def _fixed(number: float | None) -> str:
    return "-" if number is None else f"{number:.1f}"
