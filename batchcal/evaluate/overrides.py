"""Blocks that a named reviewer has overridden with a reason, in the workbook.

An overridden finding stays in every list, with its message and who overrode it, and no longer stops. Safety
findings are never overridden, and an override makes no value of what could not be computed or judged.
"""

from collections.abc import Sequence

from msgspec.structs import replace

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.release import is_release
from batchcal.findings import Finding, Severity
from batchcal.logged import AmendmentRow
from batchcal.model import Settings
from batchcal.terms import FiringState


class Overrides:
    """The overrides of a day: which of them count, and which findings they meet."""

    def __init__(self, rows: Sequence[AmendmentRow], settings: Settings, firings: Sequence[Firing]) -> None:
        """Sort the rows of Amendments that name a finding into those that count and those that do not."""
        analysts = {settings.analyst.casefold(), *(firing.row.analyst.casefold() for firing in firings)} - {""}
        self.found: list[Finding] = []
        self._valid: list[AmendmentRow] = []
        self._met: dict[int, Finding] = {}
        for row in rows:
            if not row.finding or is_release(row):
                continue
            why = _unfit(row, analysts)
            if why:
                self.found.append(row.place.finding("override-unfit", "finding", overridden=row.finding, why=why))
            else:
                self._valid.append(row)

    def lift(self, finding: Finding) -> Finding:
        """Return the finding as it stands after the overrides: no longer stopping where one meets it."""
        if finding.severity is not Severity.BLOCK or finding.code == "override-unfit":
            return finding
        for row in self._valid:
            if _meets(row, finding):
                self._met[id(row)] = finding
                by = f"{row.reviewer}: {row.reason.rstrip('.')}"
                words = f"{finding.message} Overridden by {by}."
                return replace(finding, severity=Severity.REVIEW, message=words, overridden=by)
        return finding

    def lift_all(self, firings: Sequence[Firing], contents: Sequence[Contents], found: list[Finding]) -> list[Finding]:
        """Lift what was found so far; firings that nothing else makes provisional count again."""
        for firing in firings:
            if firing.found:
                firing.found = [self.lift(finding) for finding in firing.found]
            if firing.state is FiringState.PROVISIONAL and not any(f.severity.stops for f in firing.found):
                firing.state, firing.reason = FiringState.USED, ""
        for entry in contents:
            if entry.found:
                entry.found = [self.lift(finding) for finding in entry.found]
        return [self.lift(finding) for finding in found]

    def report(self) -> list[Finding]:
        """Return what is to be printed of the overrides, once everything that they could meet has been lifted."""
        made = list(self.found)
        for row in self._valid:
            if id(row) in self._met:
                made.append(
                    row.place.finding(
                        "override-used", "finding", firing=row.firing, sample=row.sample, overridden=row.finding,
                        reviewer=row.reviewer, reason=row.reason.rstrip("."),
                    )
                )  # fmt: skip
            else:
                at = row.where or row.sample or row.firing
                about = f" at {at}" if at else ""
                made.append(
                    row.place.finding("override-without-finding", "finding", overridden=row.finding, about=about)
                )
        return made


def _unfit(row: AmendmentRow, analysts: set[str]) -> str:
    if row.unreadable:
        return "a cell of it cannot be read"
    if not row.reason:
        return "there is no reason"
    if not row.reviewer:
        return "no reviewer is named"
    if row.reviewer.casefold() in analysts:
        return f"{row.reviewer} made firings of this day"
    return ""


def _meets(row: AmendmentRow, finding: Finding) -> bool:
    """Whether an override names this finding: its code, and the place, firing or sample where it stands."""
    if row.finding.casefold() != finding.code:
        return False
    if row.where and _plain(row.where) != _plain(finding.where):
        return False
    if row.firing and row.firing != finding.firing:
        return False
    if row.sample and row.sample != finding.sample:
        return False
    return bool(row.where or row.firing or row.sample) or not (finding.firing or finding.sample)


def _plain(where: str) -> str:
    return where.replace(" ", "").replace("$", "").replace("'", "").casefold()
