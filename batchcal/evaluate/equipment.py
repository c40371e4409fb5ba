"""What the log of the equipment says of the firings: changes, dates that have passed, times in service.

A blank cell says nothing. A cell that enters and cannot be read leaves in doubt every firing that its row concerns.
"""

import datetime as dt
from collections.abc import Iterator, Sequence

from batchcal.evaluate import wording
from batchcal.evaluate.doubts import Doubts
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.logged import Batch, EquipmentRow
from batchcal.model import Series, apparatus_name
from batchcal.terms import EquipmentKind

_APPARATUS = {EquipmentKind.CALORIMETER: "calorimeter", EquipmentKind.BOMB: "bomb"}
"""Kinds of which the firings have a column."""

_ENTERING = frozenset(
    {EquipmentKind.CALORIMETER, EquipmentKind.THERMOMETER, EquipmentKind.BALANCE, EquipmentKind.BURETTE}
)
"""Kinds whose calibration enters the computation."""

_PRESSURE = {EquipmentKind.BOMB: "pressure test", EquipmentKind.GAUGE: "calibration"}
"""Kinds under pressure, and what is due of them."""

_APART = frozenset({EquipmentKind.BALANCE, EquipmentKind.BURETTE, EquipmentKind.GAUGE})
"""Kinds that are no part of what a heat capacity is the heat capacity of; common practice, no source."""

_NAMING = frozenset({"equipment", "kind", "of_calorimeter"})
_SPAN = frozenset({"in_service_from", "in_service_to"})
_HOLDING = (
    "in_service_from", "in_service_to", "changed_on", "due", "firings_since_service", "firings_between_services",
)  # fmt: skip
"""Fields to which firings are held."""


def hold(firings: Sequence[Firing], batch: Batch) -> list[Finding]:
    """Make provisional what rests on a heat capacity older than a change, and what a doubtful row may concern.

    The firings have their heat capacity already. A change counts after the day of the heat capacity and on or
    before the day of the firing.
    """
    joined = _Joined(batch)
    found = []
    for row in batch.equipment:
        doubts = _doubts(row, batch)
        changed: dict[int, tuple[Series, list[Firing]]] = {}
        for firing in firings:
            if not firing.counts:
                continue
            if doubts and joined.may_concern(row, firing):
                firing.make_provisional(doubts)
            if firing.series is not None and joined.concerns(row, firing) and _changed_between(row, firing):
                changed.setdefault(id(firing.series), (firing.series, []))[1].append(firing)
        for series, members in changed.values():
            finding = row.place.finding(
                "part-changed", "changed_on", part=_part(row), changed=row.changed_on, apparatus=series.apparatus,
                date=series.date, firings=_named(members),
            )  # fmt: skip
            found.append(finding)
            for firing in members:
                firing.make_provisional([finding])
    return found


def review(firings: Sequence[Firing], batch: Batch) -> list[Finding]:
    """Hold every firing, whatever became of it, to the times in service and to what is due."""
    joined = _Joined(batch)
    found: list[Finding] = []
    for item in _items(batch.equipment):
        found += _out_of_service(item, firings, joined)
        found += _overdue(item, firings, joined)
    for row in batch.equipment:
        why = joined.unfit(row)
        if why:
            found.append(row.place.finding("equipment-row-unfit", "equipment", item=_item(row), why=why))
        count, limit = row.firings_since_service, row.firings_between_services
        if count is not None and limit is not None and count >= limit:
            found.append(
                row.place.finding(
                    "bomb-service-due", "firings_since_service", item=_item(row), count=f"{count:g}", limit=f"{limit:g}"
                )
            )
    return found


class _Joined:
    """Which firings a row concerns.

    A lab with one apparatus may name it on Equipment and leave the columns of the firings blank: there is nothing to
    confuse. Where Equipment then names several, nobody knows which was fired.
    """

    def __init__(self, batch: Batch) -> None:
        self._names: dict[str, set[str]] = {"calorimeter": set(), "bomb": set()}
        for row in batch.equipment:
            self._names["calorimeter"].add(row.of_calorimeter.casefold())
            if row.kind in _APPARATUS:
                self._names[_APPARATUS[row.kind]].add(row.equipment.casefold())
        self._blank = {
            column: not any(getattr(row, column) or column in row.unreadable for row in batch.firings)
            for column in self._names
        }
        self._several = {column for column, names in self._names.items() if len(names - {""}) > 1}

    def concerns(self, row: EquipmentRow, firing: Firing) -> bool:
        """Whether a firing was made in, or with, the item of a row."""
        if row.kind is None or row.unreadable & _NAMING:
            return False
        own = _APPARATUS.get(row.kind)
        if own is not None and not self._same(row.equipment, firing, own):
            return False
        return own == "calorimeter" or not row.of_calorimeter or self._same(row.of_calorimeter, firing, "calorimeter")

    def may_concern(self, row: EquipmentRow, firing: Firing) -> bool:
        """Whether a firing may have been made with the item of a row that holds a cell that cannot be read."""
        return bool(row.unreadable & _NAMING) or self.concerns(row, firing)

    def _same(self, name: str, firing: Firing, column: str) -> bool:
        logged = str(getattr(firing.row, column))
        if self._blank[column]:
            return column not in self._several
        return bool(logged) and logged.casefold() == name.casefold()

    def unfit(self, row: EquipmentRow) -> str:
        """Return why no firing can be held to a row, or "" where one can or there is nothing to hold it to."""
        if row.unreadable or all(getattr(row, name) is None for name in _HOLDING):
            return ""
        if row.kind is None:
            return "its Kind is blank"
        if _reversed(row):
            return f"In service to ({row.in_service_to}) is before In service from ({row.in_service_from})"
        own = _APPARATUS.get(row.kind)
        if own is not None and not row.equipment and not self._blank[own]:
            return f"it has no mark, and the firings name the {own}"
        for column in {own, "calorimeter" if row.of_calorimeter else None} - {None}:
            if column is not None and self._blank[column] and column in self._several:
                return f"Equipment names more than one {column}, and the firings name none"
        return ""


def _items(rows: Sequence[EquipmentRow]) -> Iterator[list[EquipmentRow]]:
    """Yield the rows of each item; one without a mark is an item of its own."""
    items: dict[tuple[object, ...], list[EquipmentRow]] = {}
    for row in rows:
        if row.kind is not None and not row.unreadable & _NAMING:
            key = (row.kind, row.of_calorimeter.casefold(), row.equipment.casefold())
            items.setdefault(key if row.equipment else (row.place.row,), []).append(row)
    yield from items.values()


def _changed_between(row: EquipmentRow, firing: Firing) -> bool:
    series = firing.series
    if row.kind in _APART or row.changed_on is None or series is None or series.date is None or firing.date is None:
        return False
    return series.date < row.changed_on <= firing.date


def _doubts(row: EquipmentRow, batch: Batch) -> list[Finding]:
    """Return the findings that stop about a row's unreadable cells, or about their headings."""
    found = Doubts(batch.findings).of(row.place, row.unreadable) if row.unreadable else []
    return [finding for finding in found if finding.severity.stops]


def _out_of_service(item: Sequence[EquipmentRow], firings: Sequence[Firing], joined: _Joined) -> list[Finding]:
    """Return a finding for each firing in a calorimeter or bomb on a day that none of its times in service covers."""
    first = item[0]
    spans = [row for row in item if row.in_service_from is not None or row.in_service_to is not None]
    if first.kind not in _APPARATUS or not spans or any(row.unreadable & _SPAN or _reversed(row) for row in item):
        return []
    found = []
    for firing in firings:
        date = firing.date
        if date is None or not joined.concerns(first, firing) or any(row.in_service(date) for row in spans):
            continue
        row = firing.row
        finding = row.place.finding(
            "bomb-out-of-service-used", _APPARATUS[first.kind], firing=row.firing, sample=row.sample, date=date,
            item=_item(first), span=" and ".join(map(_span, spans)), apparatus=apparatus_name(*firing.apparatus),
        )  # fmt: skip
        firing.attach([finding])
        found.append(finding)
    return found


def _overdue(item: Sequence[EquipmentRow], firings: Sequence[Firing], joined: _Joined) -> list[Finding]:
    """Return a finding for each due date of an item after which it was used.

    Of several rows the one counts that is due last, of those calibrated and in service on the day of the firing.
    """
    first = item[0]
    kind = first.kind
    if kind is None or kind not in _ENTERING | _PRESSURE.keys():
        return []
    if any(row.unreadable & {"due", "calibrated_on", *_SPAN} for row in item):
        return []
    late: dict[dt.date, tuple[EquipmentRow, list[Firing]]] = {}
    for firing in firings:
        date = firing.date
        if date is None or not _used(kind, firing) or not joined.concerns(first, firing):
            continue
        known = [
            (row.due, row)
            for row in item
            if row.due is not None and (row.calibrated_on is None or row.calibrated_on <= date) and row.in_service(date)
        ]
        due, latest = max(known, key=lambda pair: pair[0], default=(date, first))
        if due < date:
            late.setdefault(due, (latest, []))[1].append(firing)
    found = []
    for due, (row, members) in late.items():
        if kind in _PRESSURE:
            finding = row.place.finding(
                "proof-test-overdue", "due", item=_item(row), what=_PRESSURE[kind], due=due, firings=_named(members)
            )
        else:
            finding = row.place.finding("equipment-overdue", "due", item=_item(row), due=due, firings=_named(members))
        found.append(finding)
        for firing in members:
            firing.attach([finding])
    return found


def _used(kind: EquipmentKind, firing: Firing) -> bool:
    """Whether an item of this kind takes part in a firing: what is under pressure always does."""
    if kind in _PRESSURE:
        return True
    return firing.counts and (kind is not EquipmentKind.BURETTE or firing.titration is not None)


def _reversed(row: EquipmentRow) -> bool:
    start, end = row.in_service_from, row.in_service_to
    return start is not None and end is not None and end < start


def _item(row: EquipmentRow) -> str:
    """Return an item in words, within a sentence."""
    kind = "item" if row.kind in (None, EquipmentKind.OTHER) else str(row.kind)
    name = f"{kind} {row.equipment}" if row.equipment else f"the {kind}"
    if row.of_calorimeter and row.kind is not EquipmentKind.CALORIMETER:
        name += f" of calorimeter {row.of_calorimeter}"
    return name


def _part(row: EquipmentRow) -> str:
    """Return what was changed, at the head of a sentence."""
    item = _item(row)
    what = row.what_changed.rstrip(" .")
    return item[0].upper() + item[1:] + (f" ({what})" if what else "")


def _span(row: EquipmentRow) -> str:
    parts = [
        f"{word} {date}"
        for word, date in (("from", row.in_service_from), ("to", row.in_service_to))
        if date is not None
    ]
    return " ".join(parts)


def _named(firings: Sequence[Firing]) -> str:
    """Return the firings in words; one without a number goes by its row."""
    return wording.firings([f.row.firing or f"in {f.row.place.sheet} row {f.row.place.row}" for f in firings])
