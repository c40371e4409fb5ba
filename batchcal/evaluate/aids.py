"""The heat of combustion of aids, found from firings in which an aid burnt with benzoic acid."""

import dataclasses
from collections.abc import Sequence

from batchcal import findings
from batchcal.evaluate.combustion import Rules, work_out_aid
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.formulas import statistics
from batchcal.model import Quantity, Settings
from batchcal.terms import FiringState, Purpose

FEWEST_FIRINGS = 3
"""Fewest firings that make the heat of an aid: GOST 21261-91 takes the mean of at least three for a film."""


def find_heats(firings: Sequence[Firing], rules: Rules) -> tuple[Settings, list[Finding]]:
    """Work out the aid firings; returns settings with the heats found, and what was found about them.

    A heat on Setup goes before one that was found. Fewer than three firings make no heat.
    """
    settings = rules.settings
    values: dict[str, list[float]] = {}
    names: dict[str, str] = {}
    for firing in firings:
        if firing.purpose is not Purpose.AID or not firing.computable:
            continue
        value = work_out_aid(firing, rules)
        if value is not None and firing.state is FiringState.USED:
            key = firing.row.aid.casefold()
            names.setdefault(key, firing.row.aid)
            values.setdefault(key, []).append(value)
    heats = dict(settings.aid_heats)
    found = []
    for key, members in values.items():
        name, n = names[key], len(members)
        mean = statistics.mean(members)
        entered = settings.aid_heats.get(key)
        spread = f", SD {statistics.standard_deviation(members):.0f} J/g" if n > 1 else ""
        found.append(findings.make("aid-heat-found", aid=name, found=f"{mean:.0f}", n=n, spread=spread))
        if entered is not None:
            found.append(
                findings.make("aid-heat-twice", aid=name, entered=f"{entered.value:.0f}", n=n, found=f"{mean:.0f}")
            )
        elif n < FEWEST_FIRINGS:
            if any(firing.row.aid.casefold() == key and firing.purpose is not Purpose.AID for firing in firings):
                found.append(findings.make("aid-too-few", aid=name, n=n, fewest=FEWEST_FIRINGS))
        else:
            source = f"mean of {n} aid firings of this workbook{spread}"
            heats[key] = Quantity(f"Aid heat [{name}]", mean, "J/g", source, "found from firings")
    return dataclasses.replace(settings, aid_heats=heats), found
