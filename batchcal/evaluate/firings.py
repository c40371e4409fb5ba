"""From rows to firings: what each row is, and whether it may be computed."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from batchcal.findings import Finding, Severity
from batchcal.logged import Batch, FiringRow, TitrationRow
from batchcal.model import Curve, FiringResult, Series, Settings
from batchcal.terms import FiringState, Outcome, Purpose, Use

_COMPUTED_PURPOSES = (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID, Purpose.SAMPLE)


@dataclass(slots=True)
class Firing:
    """One firing on its way through the evaluation; ``freeze`` makes the result of it."""

    row: FiringRow
    purpose: Purpose | None = None
    state: FiringState = FiringState.USED
    readable: bool = True
    """False for a row that is set aside and holds cells that cannot be read: it keeps its state, without numbers."""
    reason: str = ""
    date: dt.date | None = None
    titration: TitrationRow | None = None
    mass_g: float | None = None
    rise_K: float | None = None
    heat_exchange_K: float | None = None
    heat_capacity_J_per_K: float | None = None
    ignition_J: float | None = None
    aid_J: float | None = None
    nitric_J: float | None = None
    sulphuric_J: float | None = None
    gross_ad_J_per_g: float | None = None
    gross_d_J_per_g: float | None = None
    recovery_percent: float | None = None
    acid_mol: float | None = None
    series: Series | None = None
    curve: Curve | None = None
    found: list[Finding] = field(default_factory=list)

    @property
    def apparatus(self) -> tuple[str, str]:
        """Calorimeter and bomb, by which the heat capacity is looked up."""
        return self.row.calorimeter, self.row.bomb

    @property
    def corrected_rise_K(self) -> float | None:
        """Rise with the heat-exchange correction added."""
        return None if self.rise_K is None else self.rise_K + (self.heat_exchange_K or 0.0)

    @property
    def computable(self) -> bool:
        """Whether the firing is to be worked out: nothing stops it, even if it is set aside."""
        return self.readable and self.state in (FiringState.USED, FiringState.PROVISIONAL, FiringState.SET_ASIDE)

    @property
    def counts(self) -> bool:
        """Whether the firing was worked out and takes part in results, if only provisionally."""
        return self.state in (FiringState.USED, FiringState.PROVISIONAL)

    def stop(self, *because: Finding) -> None:
        """Give the firing up because of these findings; one that is set aside only stays without numbers."""
        if self.state is FiringState.SET_ASIDE:
            self.readable = False
            return
        self.attach(because)
        self.state = FiringState.NOT_COMPUTED
        if because and not self.reason:
            self.reason = because[0].message

    def attach(self, found: Iterable[Finding]) -> None:
        """Note findings that concern this firing, each once."""
        self.found += [finding for finding in found if finding not in self.found]

    def make_provisional(self, because: Iterable[Finding]) -> None:
        """Keep the numbers of the firing, but not for release."""
        because = list(because)
        self.attach(because)
        if self.state is FiringState.USED:
            self.state = FiringState.PROVISIONAL
            self.reason = because[0].message if because else ""

    def freeze(self) -> FiringResult:
        """Return the result of this firing."""
        return FiringResult(
            row=self.row,
            purpose=self.purpose,
            state=self.state,
            reason=self.reason,
            date=self.date,
            mass_g=self.mass_g,
            rise_K=self.rise_K,
            heat_exchange_K=self.heat_exchange_K,
            heat_capacity_J_per_K=self.heat_capacity_J_per_K,
            ignition_J=self.ignition_J,
            aid_J=self.aid_J,
            nitric_J=self.nitric_J,
            sulphuric_J=self.sulphuric_J,
            gross_ad_J_per_g=self.gross_ad_J_per_g,
            gross_d_J_per_g=self.gross_d_J_per_g,
            recovery_percent=self.recovery_percent,
            titre_mmol=None if self.acid_mol is None else self.acid_mol * 1e3,
            series=self.series,
            curve=self.curve,
            findings=tuple(self.found),
        )


def classify(batch: Batch, settings: Settings) -> tuple[list[Firing], list[Finding]]:
    """Return a Firing for every row, with its purpose, its date and whether it may be computed."""
    calibration = batch.tables.get("calibration")
    numbers = Counter(row.firing for row in batch.firings if row.firing)
    cell_findings = _by_place(batch.findings)
    firings, found = [], []
    for row in batch.firings:
        on_calibration = calibration is not None and row.place.sheet == calibration.sheet
        firing = Firing(row, _purpose(row, on_calibration))
        firing.date = row.date or (None if on_calibration or "date" in row.unreadable else settings.batch_date)
        firings.append(firing)
        found += _settle(firing, numbers, batch, cell_findings)
    found += _apparatus(firings)
    return firings, found


def _purpose(row: FiringRow, on_calibration: bool) -> Purpose | None:
    if row.purpose is not None or "purpose" in row.unreadable:
        return row.purpose
    if on_calibration:
        return Purpose.CALIBRATION
    return Purpose.SAMPLE if row.sample or "sample" in row.unreadable else None


def _settle(
    firing: Firing, numbers: Counter[str], batch: Batch, cell_findings: dict[tuple[str, int], list[Finding]]
) -> list[Finding]:
    """Decide what becomes of a row before anything is computed; returns the findings made."""
    row = firing.row
    left_out = _left_out(firing)
    if left_out:
        return left_out
    made = _identity(firing, numbers, batch)
    doubtful = [
        finding
        for finding in cell_findings.get((row.place.sheet, row.place.row), []) + _heading_findings(row, cell_findings)
        if finding.severity is Severity.BLOCK
    ]
    if row.use is Use.SET_ASIDE and not made:
        firing.state = FiringState.SET_ASIDE
        firing.reason = row.reason
        code, why = ("firing-set-aside", row.reason) if row.reason else ("set-aside-without-reason", "")
        made = [_at(firing, code, "reason", why=why)]
        firing.attach(made)
        firing.readable = not row.unreadable
    elif made or doubtful:
        firing.stop(*doubtful, *made)
    return made


def _left_out(firing: Firing) -> list[Finding]:
    """Exclude a firing whose outcome or purpose keeps it out of every result."""
    row = firing.row
    if row.outcome not in (None, Outcome.GOOD):
        why = f"outcome {row.outcome}"
    elif firing.purpose is not None and firing.purpose not in _COMPUTED_PURPOSES:
        why = f"purpose {firing.purpose}"
    else:
        return []
    if row.reason:
        why += f", {row.reason}"
    firing.state, firing.reason = FiringState.EXCLUDED, why
    made = [_at(firing, "firing-excluded", "outcome", why=why)]
    if row.outcome is Outcome.LEAK:
        made.insert(0, _at(firing, "leak-logged", "outcome", apparatus=_name(firing)))
    firing.attach(made)
    return made


def _identity(firing: Firing, numbers: Counter[str], batch: Batch) -> list[Finding]:
    """Return what is wrong with a row's number, purpose and sample number."""
    row = firing.row
    if not row.firing:
        return [] if "firing" in row.unreadable else [_at(firing, "firing-number-missing", None)]
    if numbers[row.firing] > 1:
        others = [
            f"{other.place.sheet} row {other.place.row}"
            for other in batch.firings
            if other.firing == row.firing and other is not row
        ]
        return [_at(firing, "firing-number-twice", "firing", other=", ".join(others))]
    if firing.purpose is None and "purpose" not in row.unreadable:
        return [_at(firing, "purpose-missing", "purpose")]
    if firing.purpose is Purpose.SAMPLE and not row.sample and "sample" not in row.unreadable:
        return [_at(firing, "sample-number-missing", "sample")]
    return []


def _apparatus(firings: list[Firing]) -> list[Finding]:
    """Stop firings whose calorimeter or bomb is blank while other rows name one."""
    made = []
    concerned = [f for f in firings if f.state not in (FiringState.EXCLUDED, FiringState.SET_ASIDE)]
    for name in ("calorimeter", "bomb"):
        blank = [f for f in concerned if not getattr(f.row, name) and name not in f.row.unreadable]
        if not blank or len(blank) == len(concerned):
            continue
        for firing in blank:
            finding = _at(firing, "apparatus-missing", name, heading=name.capitalize())
            firing.stop(finding)
            made.append(finding)
    return made


def _at(firing: Firing, code: str, column: str | None, **details: Any) -> Finding:
    row = firing.row
    return row.place.finding(code, column, firing=row.firing, sample=row.sample, **details)


def _name(firing: Firing) -> str:
    calorimeter, bomb = firing.apparatus
    return f"bomb {bomb}" if bomb else f"calorimeter {calorimeter}" if calorimeter else "this bomb"


def _by_place(found: Iterable[Finding]) -> dict[tuple[str, int], list[Finding]]:
    places: dict[tuple[str, int], list[Finding]] = {}
    for finding in found:
        if finding.sheet is not None and finding.row is not None:
            places.setdefault((finding.sheet, finding.row), []).append(finding)
    return places


def _heading_findings(row: FiringRow, cell_findings: dict[tuple[str, int], list[Finding]]) -> list[Finding]:
    """Return the findings about the headings of the row's unreadable fields."""
    table = row.place.table
    letters = {table.columns[name] for name in row.unreadable if name in table.columns}
    return [
        finding
        for finding in cell_findings.get((table.sheet, table.heading_row), [])
        if finding.cell is not None and finding.cell.rstrip("0123456789") in letters
    ]
