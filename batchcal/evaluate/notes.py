"""What is noted of the day as a whole once its samples are judged: net values, and what a reading step is worth."""

from collections.abc import Sequence

from batchcal import findings
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.net import NO_GROSS
from batchcal.evaluate.slips.day import folded
from batchcal.evaluate.wording import habit
from batchcal.findings import Finding
from batchcal.formulas import bomb
from batchcal.model import Resolution, SampleResult, Settings
from batchcal.terms import Purpose


def net_notes(judged: Sequence[SampleResult]) -> list[Finding]:
    """Return what the net values rest on, and one note for each reason why samples have none."""
    without: dict[str, list[str]] = {}
    resting: dict[str, list[str]] = {}
    found = []
    for sample in judged:
        if sample.net.notes == (NO_GROSS,):
            continue
        if not sample.net.known:
            without.setdefault("; ".join(sample.net.notes), []).append(sample.sample)
        elif sample.net.notes:
            resting.setdefault("; ".join(sample.net.notes), []).append(sample.sample)
    for notes, names in resting.items():
        for members in folded(names):
            only = members[0] if len(members) == 1 else None
            found.append(findings.make("net-rests-on", sample=only, samples=habit(members, "sample"), notes=notes))
    for why, names in without.items():
        found.append(findings.make("net-not-computed", samples=", ".join(names), why=why))
    return found


def resolution_of(firings: Sequence[Firing], settings: Settings) -> tuple[Resolution | None, list[Finding]]:
    """Return what one step of the temperature reading is worth on the day's samples."""
    used = [f for f in firings if f.purpose is Purpose.SAMPLE and f.counts and f.mass_g and f.heat_capacity_J_per_K]
    places = [firing.row.rise_decimals for firing in used if firing.row.rise_decimals is not None]
    given = settings.reading_resolution
    if not used or (given is None and not places):
        return None, []
    step = given.value if given is not None else 10.0 ** -max(places)
    mass = sum(firing.mass_g or 0.0 for firing in used) / len(used)
    capacity = sum(firing.heat_capacity_J_per_K or 0.0 for firing in used) / len(used)
    worth = bomb.reading_step_worth(step_K=step, heat_capacity_J_per_K=capacity, mass_g=mass)
    resolution = Resolution(step, given is not None, worth, capacity, mass)
    limit = settings.repeatability_limit
    if limit is None or worth <= limit.value / 10:
        return resolution, []
    return resolution, [
        findings.make(
            "resolution-worth",
            step=f"{step:g}",
            worth=f"{worth:.0f}",
            capacity=f"{capacity:.0f}",
            mass=f"{mass:.2f}",
            limit=f"{limit.value:g}",
        )
    ]
