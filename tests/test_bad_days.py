"""The slips that are certain are found in 95 %, those that are strong in 80 % of seeded days; honest days stay quiet.

The days come from a generator that shares no code with the finders (``bad_day``); ``bad_days.py`` prints the tables.
"""

import pytest
from bad_day.slips import SLIPS, bad_day
from bad_days import NAMES, Outcome, apart, honest_days, outcomes

SEEDS = 20

PROMISED = {"A": 0.95, "A/B": 0.8, "B": 0.8, "C/B": 0.5}
"""The share found by confidence: certain, certain or strong by the case, strong, and a hint only."""

BEYOND = {
    "bomb_mixed": 0.5,  # where the bombs differ by less than 1.5 limits' worth, nothing can be told from scatter
    "masses_exchanged": 0.75,  # nor where the two masses are nearly the same
}
"""Strong slips that some days cannot show, with the share that is found all the same."""


@pytest.fixture(scope="module")
def found() -> dict[str, list[Outcome]]:
    return outcomes(SEEDS)


def test_every_kind_is_looked_for() -> None:
    assert set(NAMES) == set(SLIPS)


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_named_with_its_sheet_and_row(name: str, found: dict[str, list[Outcome]]) -> None:
    confidence = bad_day(name, 0)[1].confidence
    share = sum(entry.place for entry in found[name]) / SEEDS
    missed = [(entry.seed, entry.codes) for entry in found[name] if not entry.place]
    assert share >= BEYOND.get(name, PROMISED[confidence]), missed


def test_honest_days_are_quiet() -> None:
    """Fewer than 1 % of days with a false block and 5 % with a false review; pairs and charts have their own rates."""
    days = 200
    counts = apart(honest_days(days))
    assert counts["block or safety"] <= 0.01 * days
    assert counts["review"] <= 0.05 * days
    # Eight to fourteen pairs, each apart in 5 %: 45 % of days have one; five standard deviations of that.
    assert 0.25 * days < counts["pairs"] < 0.65 * days
    # Two tests at 5 % on one or two series and the outlier's at 1 %: about 15 % of days.
    assert counts["charts"] < 0.27 * days
