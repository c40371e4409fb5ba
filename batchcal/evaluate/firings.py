"""From rows to firings: what each row is, and whether it may be computed."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from msgspec import Struct, field

from batchcal.evaluate.doubts import Doubts
from batchcal.evaluate.numbering import Numbering
from batchcal.findings import Finding, Severity
from batchcal.logged import Batch, FiringRow, TitrationRow
from batchcal.model import Curve, FiringResult, Series, Settings
from batchcal.terms import FiringState, Outcome, Purpose, Use

_COUNTING = frozenset({FiringState.USED, FiringState.PROVISIONAL})
_TO_COMPUTE = _COUNTING | {FiringState.SET_ASIDE}
_LEFT_OUT = frozenset({FiringState.SET_ASIDE, FiringState.EXCLUDED})

_COMPUTED_PURPOSES = (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID, Purpose.SAMPLE)


class Firing(Struct):
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
    aid_found: str = ""
    aid_counted: bool = False
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
        return self.readable and self.state in _TO_COMPUTE

    @property
    def counts(self) -> bool:
        """Whether the firing was worked out and takes part in results, if only provisionally."""
        return self.state in _COUNTING

    @property
    def left_out(self) -> bool:
        """Whether the firing is set aside, or excluded by its outcome or purpose."""
        return self.state in _LEFT_OUT

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
            titration=self.titration,
            aid_found=self.aid_found,
            aid_counted=self.aid_counted,
            findings=tuple(self.found),
        )


def classify(batch: Batch, settings: Settings) -> tuple[list[Firing], list[Finding]]:
    """Return a Firing for every row, with its purpose, its date and whether it may be computed."""
    stand_in = _standing_in(batch, settings.batch_date)
    numbering = Numbering(batch.firings)
    doubts = Doubts(batch.findings)
    firings, found = [], []
    for row in batch.firings:
        on_calibration = row.place.table.role == "calibration"
        firing = Firing(row, _purpose(row, on_calibration))
        firing.date = row.date or (None if on_calibration or "date" in row.unreadable else stand_in)
        firings.append(firing)
        found += _settle(firing, numbering, doubts)
    found += _apparatus(firings)
    return firings, found


def _standing_in(batch: Batch, date: dt.date | None) -> dt.date | None:
    """Return the Batch date where it may stand in for a blank date on Runs: no row there says otherwise.

    A lab that types a date once a day, in the first row, leaves rows blank that are of another day.
    """
    rows = [row for row in batch.firings if row.place.table.role == "runs"]
    given = {row.date for row in rows if row.date is not None}
    return date if given <= {date} and not any("date" in row.unreadable for row in rows) else None


def _purpose(row: FiringRow, on_calibration: bool) -> Purpose | None:
    if row.purpose is not None or "purpose" in row.unreadable:
        return row.purpose
    if on_calibration:
        return Purpose.CALIBRATION
    return Purpose.SAMPLE if row.sample or "sample" in row.unreadable else None


def _settle(firing: Firing, numbering: Numbering, doubts: Doubts) -> list[Finding]:
    """Decide what becomes of a row before anything is computed; returns the findings made."""
    row = firing.row
    left_out = _left_out(firing)
    if left_out:
        return left_out
    made = _identity(firing, numbering)
    doubtful = [f for f in doubts.of(row.place, row.unreadable) if f.severity is Severity.BLOCK]
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


def _identity(firing: Firing, numbering: Numbering) -> list[Finding]:
    """Return what is wrong with a row's number, purpose and sample number."""
    row = firing.row
    if not row.firing:
        return [] if "firing" in row.unreadable else [_at(firing, "firing-number-missing", None)]
    doubt = numbering.doubt(row)
    if doubt is not None:
        return [doubt]
    if firing.purpose is None and "purpose" not in row.unreadable:
        return [_at(firing, "purpose-missing", "purpose")]
    if firing.purpose is Purpose.SAMPLE and not row.sample and "sample" not in row.unreadable:
        return [_at(firing, "sample-number-missing", "sample")]
    return []


def _apparatus(firings: list[Firing]) -> list[Finding]:
    """Stop firings whose calorimeter or bomb is blank while other rows name one."""
    made = []
    concerned = [firing for firing in firings if not firing.left_out]
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
