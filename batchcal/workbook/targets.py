"""Where findings, results and workings stand on the added sheets, so that cells of other sheets can lead there.

The rows are asked for when the links are written: by then each sheet has said where its own begin.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import partial

from msgspec import Struct, field

from batchcal.findings import Finding, in_order
from batchcal.logged import Place
from batchcal.workbook import styles
from batchcal.workbook.xlsx.links import Link


class Targets(Struct):
    """The added sheets by their names, and what stands in which of their rows."""

    results_sheet: str
    findings_sheet: str
    working_sheet: str
    findings: Sequence[Finding]
    """In the order of the sheet Findings."""
    first_finding: int = 0
    """Row of the first of them, set once the sheet is laid out."""
    results: dict[str, int] = field(default_factory=dict)
    """Row of each sample on the sheet Results."""
    working: dict[str, int] = field(default_factory=dict)
    """Row of each sample on the sheet Working."""
    _order: dict[Finding, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for index, finding in enumerate(self.findings):
            self._order.setdefault(finding, index)

    def in_order(self, findings: Iterable[Finding]) -> list[Finding]:
        """Return findings in the order of the sheet Findings, those that are not there at the end."""
        return sorted(findings, key=lambda finding: self._order.get(finding, len(self._order)))

    def finding(self, finding: Finding) -> Link | None:
        """Return the link to a finding on the sheet Findings; None where it is not there."""
        index = self._order.get(finding)
        if index is None:
            return None
        tip = styles.visible(f"{finding.severity}: {finding.message}")
        return Link(self.findings_sheet, partial(self._finding_row, index), tip)

    def first_of(self, findings: Iterable[Finding]) -> Link | None:
        """Return the link to the one of these findings that stands first on the sheet; None where none is there."""
        found = [index for finding in findings if (index := self._order.get(finding)) is not None]
        return self.finding(self.findings[min(found)]) if found else None

    def result(self, sample: str) -> Link:
        """Return the link to a sample on the sheet Results."""
        tip = styles.visible(f"Sample {sample} on {self.results_sheet}")
        return Link(self.results_sheet, partial(_row_of, self.results, sample), tip)

    def worked(self, sample: str) -> Link:
        """Return the link to a sample on the sheet Working."""
        tip = f"How it was worked out, on {self.working_sheet}"
        return Link(self.working_sheet, partial(_row_of, self.working, sample), tip)

    def _finding_row(self, index: int) -> str:
        return f"A{self.first_finding + index}"


def _row_of(rows: Mapping[str, int], name: str) -> str:
    return f"A{rows[name]}"


def targets_on(results: str, findings: str, working: str, found: Iterable[Finding]) -> Targets:
    """Return the targets on sheets of these names, for the findings of a day."""
    return Targets(results, findings, working, in_order(list(found)))


def to_log(place: Place, field_name: str) -> Link:
    """Return the link to a field's cell on the lab's own sheets, or to its row."""
    return Link(place.sheet, place.cell(field_name) or f"A{place.row}")


def in_log(place: Place, field_name: str) -> Link | None:
    """Return that link with the place named in its tip; None for what stands in no workbook."""
    if not place.in_workbook:
        return None
    link = to_log(place, field_name)
    return Link(link.sheet, link.address, f"{link.sheet}!{link.address}")
