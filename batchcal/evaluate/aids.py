"""The heat of combustion of aids, found from firings in which an aid burnt with benzoic acid."""

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from batchcal import findings
from batchcal.evaluate import charge
from batchcal.evaluate.charge import Doubts
from batchcal.evaluate.combustion import Rules, work_out_aid
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding, Severity
from batchcal.formulas import statistics
from batchcal.logged import Aid
from batchcal.model import Quantity, Settings
from batchcal.terms import FiringState, Purpose

FEWEST_FIRINGS = 3
"""Fewest firings that make the heat of an aid: GOST 21261-91 takes the mean of at least three for a film."""


def find_heats(firings: Sequence[Firing], rules: Rules) -> tuple[Settings, list[Finding]]:
    """Work out the aid firings; returns settings with the heats found, and what was found about them.

    A heat on Setup goes before one that was found. Fewer than three firings make no heat. A firing with several
    aids finds the heat of the one that has none, so it waits until the heats of the others are found.
    """
    settings = rules.settings
    heats = dict(settings.aid_heats)
    values: dict[str, list[float]] = {}
    names: dict[str, str] = {}
    waiting = [firing for firing in firings if firing.purpose is Purpose.AID and firing.computable]
    while True:
        known = replace(rules, settings=replace(settings, aid_heats=heats))
        ready = [(firing, aid) for firing in waiting if (aid := _to_find(firing, heats)) is not None]
        if not ready:
            break
        for firing, aid in ready:
            value = work_out_aid(firing, aid, known)
            if value is not None and firing.state is FiringState.USED:
                names.setdefault(aid.key, aid.name)
                values.setdefault(aid.key, []).append(value)
                firing.aid_counted = True
        waiting = [firing for firing in waiting if not any(firing is done for done, _ in ready)]
        heats = {key: _mean(names[key], members) for key, members in values.items() if len(members) >= FEWEST_FIRINGS}
        heats |= settings.aid_heats
    for firing in waiting:
        _give_up(firing, heats)
    found = []
    for key, members in values.items():
        found += _told(key, names[key], members, settings, firings)
    return known.settings, found


def _unknown(burnt: Sequence[Aid], heats: Mapping[str, Quantity]) -> list[Aid]:
    return [aid for aid in burnt if aid.key not in heats]


def _to_find(firing: Firing, heats: Mapping[str, Quantity]) -> Aid | None:
    """Return the aid whose heat a firing finds: its only one, or of several the only one without a heat."""
    doubts = Doubts(firing.row)
    burnt = charge.aids(firing.row, doubts)
    candidates = burnt if len(burnt) == 1 else _unknown(burnt, heats)
    return candidates[0] if len(candidates) == 1 and candidates[0].mass_g and not doubts.found else None


def _give_up(firing: Firing, heats: Mapping[str, Quantity]) -> None:
    """Say why an aid firing finds no heat."""
    doubts = Doubts(firing.row)
    burnt = charge.aids(firing.row, doubts)
    unknown = _unknown(burnt, heats)
    if not doubts.found and len(burnt) > 1 and len(unknown) != 1:
        words = f"{', '.join(aid.name for aid in unknown)} are" if unknown else "none is"
        doubts.add(
            "aid-firing-unclear",
            unknown[-1].name_field if unknown else "aid",
            severity=None if unknown else Severity.REVIEW,
            burnt=", ".join(aid.name for aid in burnt),
            unknown=words,
        )
    elif not doubts.found:
        weightless = [*unknown, *burnt][:1]
        given, missing = ("the aid's name", "its mass") if weightless else ("an aid firing", "the aid's name")
        at = weightless[0].mass_field if weightless else "aid"
        doubts.add("aid-incomplete", at, given=given, missing=missing)
    firing.stop(*doubts.found)


def _spread(members: Sequence[float]) -> str:
    return f", SD {statistics.standard_deviation(members):.0f} J/g" if len(members) > 1 else ""


def _mean(name: str, members: Sequence[float]) -> Quantity:
    source = f"mean of {len(members)} aid firings of this workbook{_spread(members)}"
    return Quantity(f"Aid heat [{name}]", statistics.mean(members), "J/g", source, "found from firings")


def _told(
    key: str, name: str, members: Sequence[float], settings: Settings, firings: Sequence[Firing]
) -> list[Finding]:
    """Say what the firings found of one aid, and where its heat is short of firings or stands on Setup as well."""
    n, mean = len(members), statistics.mean(members)
    found = [findings.make("aid-heat-found", aid=name, found=f"{mean:.0f}", n=n, spread=_spread(members))]
    entered = settings.aid_heats.get(key)
    if entered is not None:
        found.append(
            findings.make("aid-heat-twice", aid=name, entered=f"{entered.value:.0f}", n=n, found=f"{mean:.0f}")
        )
    elif n < FEWEST_FIRINGS:
        burnt_elsewhere = any(
            aid.key == key for firing in firings if firing.purpose is not Purpose.AID for aid in firing.row.aids
        )
        if burnt_elsewhere:
            found.append(findings.make("aid-too-few", aid=name, n=n, fewest=FEWEST_FIRINGS))
    return found
