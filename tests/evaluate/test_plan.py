"""The plan for tonight by hand: C = 10 000 J/K from Setup, 1 g, 60 J of ignition, limit 120 J/g as analysed."""

import math
from pathlib import Path

import pytest
from logbook import DAY, Log, plain_log, run

from batchcal.advice import PlannedFiring
from batchcal.report.ladder import plan_caution, rungs
from batchcal.terms import FurtherTestRule


def limited(*rises: float, energy: float | None = 33.0, mass: float | None = 1.3) -> Log:
    log = plain_log(*rises)
    if energy is not None:
        log.setup["Maximum charge energy"] = (energy, "kJ", "instructions")
    if mass is not None:
        log.setup["Maximum sample mass"] = (mass, "g", "instructions")
    for row, letter in zip(log.rows["Runs"], "ABCD", strict=False):
        row["Replicate"] = letter
    return log


def planned(log: Log, folder: Path) -> PlannedFiring:
    evaluation = run(log, folder)
    assert len(evaluation.plan) == 1
    return evaluation.plan[0]


def fire_lines(log: Log, folder: Path) -> list[str]:
    evaluation = run(log, folder)
    return [line.what for rung in rungs(evaluation, evaluation) if rung.key == "fire" for line in rung.lines]


def test_a_third_firing(tmp_path: Path) -> None:
    """24 940 and 25 070: 130 apart. A third settles it from 25 070 - 144 to 24 940 + 144, that is 79 about 25 005.

    The next value lies about that mean with an SD of 120/2.77 times the root of 1 + 1/2 = 53.06; 79 is 1.489 SD.
    The middle of the rises, 2.5065 K, takes (25 065 - 60) / 25 005 = 1.000 g.
    """
    found = planned(limited(2.5, 2.513), tmp_path)
    assert (found.replicate, found.count) == ("C", 3)
    assert found.accepted_J_per_g == pytest.approx((24926, 25084), abs=1e-6)
    assert found.chance == pytest.approx(math.erf(79 / (120 / 2.77 * math.sqrt(1.5)) / math.sqrt(2)), rel=1e-6)
    assert found.mass_g == pytest.approx(1.00)
    assert found.rise_K == pytest.approx(2.5065, abs=1e-9)
    assert found.energy_J == pytest.approx(25065, abs=1e-6)
    assert not found.hopeless
    caution = plan_caution(run(limited(2.5, 2.513), tmp_path))
    assert "instructions" in caution
    assert "trained person" in caution
    assert fire_lines(limited(2.5, 2.513), tmp_path) == [
        (
            "Fire C of S1: 1.00 g (1.00 to 1.00), the calorimeter, expected rise 2.51 K, 25.1 kJ (limit 33.0). "
            "The 3 lie within 144 J/g of each other if it gives 24926 to 25084 J/g, as analysed; chance 86 % if only "
            "scatter parts them. Otherwise a fourth; with 4 firings it ends."
        )
    ]


@pytest.mark.parametrize(("energy", "mass"), [(None, 1.3), (33.0, None), (None, None)])
def test_without_the_labs_own_limits_no_mass_is_planned(
    tmp_path: Path, energy: float | None, mass: float | None
) -> None:
    found = planned(limited(2.5, 2.513, energy=energy, mass=mass), tmp_path)
    assert found.mass_g is None
    for limit, name in ((energy, "Maximum charge energy"), (mass, "Maximum sample mass")):
        assert (name in found.why_no_mass) is (limit is None)
    assert found.accepted_J_per_g is not None


def with_series(log: Log) -> Log:
    """The same with C = 10 000 J/K from five firings of rises between 2.8 and 3.0 K."""
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    for number, rise in enumerate((2.8, 2.85, 2.9, 2.95, 3.0), 101):
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=(1e4 * rise - 60) / 26454, temperature_rise=rise)
    return log


def test_the_mass_aims_at_the_middle_of_the_calibrated_rises(tmp_path: Path) -> None:
    """2.9 K takes (29 000 - 60) / 25 005 = 1.157 g; 2.8 and 3.0 K take 1.117 and 1.197 g."""
    found = planned(with_series(limited(2.5, 2.513)), tmp_path)
    assert found.mass_g == pytest.approx(1.16)
    assert found.mass_range_g == pytest.approx((1.1174, 1.1974), abs=1e-4)
    assert not found.remark


def test_the_mass_stays_within_every_limit(tmp_path: Path) -> None:
    """1.024 g at the most, below the 1.117 g of the lowest calibrated rise: rounded down, with a remark."""
    found = planned(with_series(limited(2.5, 2.513, mass=1.024)), tmp_path)
    assert found.mass_g == pytest.approx(1.02)
    assert "stays below the calibrated 2.80 to 3.00 K" in found.remark
    # 25.15 kJ allow (25 150 - 60) / 25 005 = 1.0034 g; the rises so far were 2.5 and 2.513 K.
    found = planned(limited(2.5, 2.513, energy=25.15), tmp_path)
    assert found.mass_g == pytest.approx(1.0)
    assert found.mass_range_g == pytest.approx((0.9974, 1.0026), abs=1e-4)


def test_nothing_is_planned_in_a_bomb_that_is_out_of_use(tmp_path: Path) -> None:
    log = limited(2.5, 2.513)
    log.setup["Maximum oxygen pressure"] = (3.3, "MPa", "instructions")
    log.rows["Runs"][0]["Oxygen pressure (MPa)"] = 3.5
    evaluation = run(log, tmp_path)
    assert all(entry.mass_g is None and "nothing is to be fired" in entry.why_no_mass for entry in evaluation.plan)


def test_a_pair_that_no_further_firing_can_bring_together(tmp_path: Path) -> None:
    """156 J/g is what four may range over; 200 J/g apart, two are beyond it already."""
    found = planned(limited(2.5, 2.52), tmp_path)
    assert found.hopeless
    assert "unless a technical cause is found" in fire_lines(limited(2.5, 2.52), tmp_path)[0]
    assert not planned(limited(2.5, 2.515), tmp_path).hopeless  # 150 J/g: four may still do


def test_a_wild_difference_goes_to_the_records_first(tmp_path: Path) -> None:
    log = limited(2.5, 2.65)  # 1 500 J/g, 12.5 limits
    assert planned(log, tmp_path).probably_a_slip
    assert fire_lines(log, tmp_path)[0].startswith("After the records, fire C of S1")


def test_a_letter_whose_firing_failed_is_fired_again_under_its_own(tmp_path: Path) -> None:
    log = limited(2.5)
    log.add("Runs", firing_no=2, sample_no="S1", replicate="B", outcome="misfire", reason="did not light")
    found = planned(log, tmp_path)
    assert (found.replicate, found.count, found.chance) == ("B", 2, None)
    assert found.accepted_J_per_g == pytest.approx((24940 - 120, 24940 + 120), abs=1e-6)


def test_what_dries_comes_first_and_slips_come_last(tmp_path: Path) -> None:
    log = Log()
    log.setup = limited(2.5).setup
    log.rows["Samples"] = []
    number = 0
    for name, fuel, rises in (
        ("Wild", "wood", (2.5, 2.7)),
        ("Coal", "hard coal", (2.5, 2.513)),
        ("Wood", "wood", (2.5, 2.513)),
    ):
        log.add("Samples", sample_no=name, fuel_class=fuel, moisture_analysis=4.0)
        for rise in rises:
            number += 1
            log.add("Runs", firing_no=number, sample_no=name, sample_mass=1.0, temperature_rise=rise)
    assert [entry.sample for entry in run(log, tmp_path).plan] == ["Wood", "Coal", "Wild"]


def test_the_rule_that_was_chosen_is_fixed_before_the_third(tmp_path: Path) -> None:
    log = limited(2.5, 2.513)
    log.setup["Further-test rule"] = ("median",)
    assert planned(log, tmp_path).rule is FurtherTestRule.MEDIAN
    assert "It is the last: then the rule median decides." in fire_lines(log, tmp_path)[0]


def test_the_remedy_says_where_a_third_cannot_settle_a_pair(tmp_path: Path) -> None:
    """130 J/g apart a third may do; 150 is beyond the 144 that three may range over."""
    near, far = (
        next(f for f in run(limited(2.5, rise), tmp_path).findings if f.code == "pair-apart").remedy
        for rise in (2.513, 2.515)
    )
    assert near.endswith("Three are accepted within 144.0 J/g.")
    assert "within 144.0 J/g, which those fired so far exceed" in far
