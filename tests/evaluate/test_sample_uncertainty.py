"""The uncertainty of a sample by hand: C = 10 000 J/K from Setup, 1 g, 60 J of ignition, 2.5 K, 4 % moisture."""

import datetime as dt
import math
import statistics
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from logbook import DAY, Log, plain_log, run, sample
from uncertainties import ufloat  # type: ignore[import-untyped]

from batchcal.evaluate import uncertainty as budgets
from batchcal.model import Uncertainty
from batchcal.report.results import results_document
from batchcal.terms import Basis

STATED: dict[str, tuple[Any, ...]] = {
    "Reading resolution": (0.001, "K", "own"),
    "Balance standard uncertainty": (0.2, "mg", "own"),
    "Thermometer standard uncertainty": (0.0015, "K", "own"),
    "Heat-capacity relative uncertainty": (0.1, "%", "own"),
    "Correction relative uncertainty": (10, "%", "own"),
    "Moisture standard uncertainty": (0.1, "%", "own"),
    "Repeatability standard deviation": (20, "J/g", "own"),
}


def stated(*rises: float, **changes: tuple[Any, ...] | None) -> Log:
    log = plain_log(*rises)
    log.setup |= STATED
    for name, entry in changes.items():
        item = name.replace("_", " ").replace("Heat capacity", "Heat-capacity")
        log.setup.pop(item, None)
        if entry is not None:
            log.setup[item] = entry
    return log


def of(log: Log, folder: Path, basis: str = "ad") -> Uncertainty:
    return sample(run(log, folder)).uncertainty[basis]


def parts(found: Uncertainty) -> dict[str, float]:
    return {part.name: part.standard_J_per_g for part in found.contributions}


def test_a_pair_as_analysed_and_dry(tmp_path: Path) -> None:
    found = of(stated(2.5, 2.5), tmp_path)
    expected = {
        budgets.ENTERED_CAPACITY: 25.0,  # 0.1 % of 10 000 J/K x 2.5 K / 1 g
        budgets.THERMOMETER: 15.0,  # 10 000 x 0.0015
        budgets.SIDE_HEATS: 6.0,  # 10 % of 60 J
        budgets.REPEATABILITY: 20 / math.sqrt(2),
    }
    assert parts(found) == pytest.approx(expected, rel=1e-9)
    assert found.standard_J_per_g == pytest.approx(math.sqrt(625 + 225 + 36 + 200), rel=1e-9)
    assert found.coverage_factor == 2
    assert found.missing == ("the acid heats, for which nothing is corrected",)
    dry = of(stated(2.5, 2.5), tmp_path, "d")
    moisture = 24940 * 100 / 96**2 * 0.1  # 27.1 J/g, from q / 0.96 by the moisture
    assert parts(dry)[budgets.ANALYSIS_MOISTURE] == pytest.approx(moisture, rel=1e-5)
    assert dry.standard_J_per_g == pytest.approx(math.hypot(math.sqrt(1086) / 0.96, moisture), rel=1e-5)


def test_more_firings_shrink_only_what_is_their_own(tmp_path: Path) -> None:
    two, four = parts(of(stated(2.5, 2.5), tmp_path)), parts(of(stated(2.5, 2.5, 2.5, 2.5), tmp_path))
    own = budgets.REPEATABILITY
    assert four[own] == pytest.approx(two[own] / math.sqrt(2), rel=1e-9)
    assert {name: part for name, part in two.items() if name != own} == pytest.approx(
        {name: part for name, part in four.items() if name != own}, rel=1e-9
    )


def test_every_heat_capacity_counts_whatever_its_name(tmp_path: Path) -> None:
    """Bomb 1 with series 1, and bomb 11 with a series that has no name; half of the firings under each."""
    log = stated(2.5, 2.5, 2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.5, "%", "own"),
    }
    rises = (2.649, 2.652, 2.65, 2.648, 2.651)
    for first, bomb, series in ((101, 1, 1), (201, 11, None)):
        for number, rise in enumerate(rises, first):
            date = DAY - dt.timedelta(days=1 + number % 2)
            log.add("Calibration", firing_no=number, date=date, calorimeter="K", bomb=bomb, series=series,
                    sample_mass=1.0, temperature_rise=rise)  # fmt: skip
    for row, bomb in zip(log.rows["Runs"], (1, 11, 1, 11), strict=True):
        row |= {"Calorimeter": "K", "Bomb": bomb}
    of_mean = statistics.stdev(26514 / rise for rise in rises) / math.sqrt(5)
    found = parts(of(log, tmp_path))
    assert found[budgets.SERIES] == pytest.approx(2.5 * math.hypot(of_mean / 2, of_mean / 2), rel=1e-6)


def test_a_coarse_step_outweighs_the_scatter_and_is_not_counted_beside_it(tmp_path: Path) -> None:
    coarse = of(stated(2.5, 2.5, Reading_resolution=(0.01, "K", "own")), tmp_path)
    fine = of(stated(2.5, 2.5), tmp_path)
    step = 1e4 * 0.01 * math.sqrt(2 / 12) / math.sqrt(2)  # 28.9 J/g of the mean of two
    assert parts(coarse)[budgets.READING] == pytest.approx(step, rel=1e-9)
    assert parts(coarse)[budgets.WEIGHING] == pytest.approx(24940 * 0.0002 / math.sqrt(2), rel=1e-9)
    assert budgets.REPEATABILITY not in parts(coarse)
    assert coarse.standard_J_per_g > fine.standard_J_per_g
    assert "not counted" in next(p.note for p in coarse.contributions if p.name == budgets.READING)
    assert "not counted again" in next(p.note for p in fine.contributions if p.name == budgets.REPEATABILITY)
    assert "finer step" in coarse.advice
    assert "series of benzoic acid" in fine.advice


def test_two_weighings_count_twice(tmp_path: Path) -> None:
    typed = stated(2.5, 2.5, Repeatability_standard_deviation=(0.001, "J/g", "own"))
    weighed = typed.copy()
    for row in weighed.rows["Runs"]:
        row.pop("Sample mass (g)")
        row |= {"Crucible (g)": 8.0, "Crucible + sample (g)": 9.0}
    one, two = (parts(of(log, tmp_path))[budgets.WEIGHING] for log in (typed, weighed))
    assert abs(two) == pytest.approx(abs(one) * math.sqrt(2), rel=1e-9)


def test_the_repeatability_follows_from_the_limit_on_its_basis(tmp_path: Path) -> None:
    log = stated(2.5, 2.5, Repeatability_standard_deviation=None, Comparison_basis=("d",))
    found = of(log, tmp_path)
    assert parts(found)[budgets.REPEATABILITY] == pytest.approx(120 / 2.77 * 0.96 / math.sqrt(2), rel=1e-9)
    assert "derived" in found.contributions[-1].note


@pytest.mark.parametrize(
    ("item", "word"),
    [
        ("Balance_standard_uncertainty", "Balance"),
        ("Thermometer_standard_uncertainty", "Thermometer"),
        ("Heat_capacity_relative_uncertainty", "Heat-capacity"),
        ("Correction_relative_uncertainty", "Correction"),
    ],
)
def test_what_is_not_entered_is_named(tmp_path: Path, item: str, word: str) -> None:
    assert not any(word in text for text in of(stated(2.5, 2.5), tmp_path).missing)
    assert any(word in text for text in of(stated(2.5, 2.5, **{item: None}), tmp_path).missing)


def test_blank_moisture_uncertainty_is_missing_for_dry_only(tmp_path: Path) -> None:
    log = stated(2.5, 2.5, Moisture_standard_uncertainty=None)
    assert any("Moisture" in text for text in of(log, tmp_path, "d").missing)
    assert not any("Moisture" in text for text in of(log, tmp_path).missing)


def test_no_uncertainty_where_the_mean_is_not_the_value(tmp_path: Path) -> None:
    apart = sample(run(stated(2.5, 2.53), tmp_path))
    assert apart.uncertainty == {}
    assert not apart.uncertainty_note
    median = sample(run(stated(2.5, 2.53, 2.507, **{"Further-test rule": ("median",)}), tmp_path))
    assert median.uncertainty == {}
    assert "median of 3" in median.uncertainty_note


def corrected(*rises: float, **changes: tuple[Any, ...] | None) -> Log:
    """A day with nothing left out: 40 J of nitric acid a firing, no sulphur, hydrogen and ash known."""
    log = stated(*rises, **changes)
    log.setup |= {
        "Acid scheme": ("fixed",),
        "Nitric acid heat": (40, "J", "own"),
        "Sulphuric acid heat": (301.4, "kJ/mol", "own"),
        "Ash standard uncertainty": (0.15, "%", "own"),
        "Hydrogen standard uncertainty": (0.2, "%", "own"),
    }
    log.rows["Samples"] = []
    log.add("Samples", sample_no="S1", moisture_analysis=4.2, moisture_total=11.3, ash=17.6, sulphur=0.0,
            hydrogen=4.0, oxygen=6.0, nitrogen=1.2, basis="ad", hydrogen_includes_moisture="yes")  # fmt: skip
    return log


def written(log: Log, folder: Path) -> dict[str, Any]:
    document: Any = results_document(run(log, folder), {})
    found: dict[str, Any] = document["samples"][0]
    return found


def test_the_results_file_carries_it_with_the_coverage_factor_entered(tmp_path: Path) -> None:
    found = written(corrected(2.5, 2.5, Coverage_factor=(3,)), tmp_path)
    assert found["coverage_factor"] == 3
    as_analysed = math.sqrt(25**2 + 15**2 + 10**2 + 200)  # 10 % of 60 + 40 J
    assert found["expanded_uncertainty_J_per_g"]["ad"] == pytest.approx(3 * as_analysed, rel=1e-9)


def test_a_budget_that_lacks_a_part_does_not_reach_the_results_file(tmp_path: Path) -> None:
    found = written(corrected(2.5, 2.5, Thermometer_standard_uncertainty=None), tmp_path)
    assert set(found["expanded_uncertainty_J_per_g"].values()) == {None}
    assert found["coverage_factor"] is None
    log = corrected(2.5, 2.5)
    del log.setup["Hydrogen standard uncertainty"]
    found = written(log, tmp_path)["expanded_uncertainty_J_per_g"]
    assert all(found[name] is not None for name in ("ad", "d", "ar", "daf"))
    assert all(found[name] is None for name in ("net_ad", "net_d", "net_ar"))


CAPACITY, RISE, HEAT = (10000.0, 10.0), (2.5, 0.0015), (100.0, 10.0)
REPEATED = 20 / math.sqrt(2)
MOISTURE, TOTAL, ASH, HYDROGEN = (4.2, 0.1), (11.3, 0.1), (17.6, 0.15), (4.0, 0.2)
"""Values and standard uncertainties of the day ``corrected``."""


def model(capacity: Any, rise: Any, heat: Any, scatter: Any, contents: tuple[Any, Any, Any, Any]) -> dict[str, Any]:
    """The values of the day ``corrected`` once more, for numbers of any kind; factors as in formulas.net."""
    moisture, total, ash, hydrogen = contents
    gross = capacity * rise - heat + scatter
    dry = gross * 100 / (100 - moisture)
    water_free = dry - (
        212.1 * (hydrogen - 0.1119 * moisture) + 0.775 * 6.0 + 0.885 * 1.2
    ) * 100 / (100 - moisture)  # fmt: skip
    return {
        "ad": gross,
        "d": dry,
        "ar": gross * (100 - total) / (100 - moisture),
        "daf": gross * 100 / (100 - moisture - ash),
        "net_d": water_free,
        "net_ad": water_free * (1 - moisture / 100) - 24.42 * moisture,
        "net_ar": water_free * (1 - total / 100) - 24.42 * total,
    }


def test_another_package_propagates_the_same_to_every_value(tmp_path: Path) -> None:
    """By the package uncertainties (linear propagation by automatic differentiation)."""
    found = run(corrected(2.5, 2.5), tmp_path).samples[0]
    theirs = model(
        ufloat(*CAPACITY), ufloat(*RISE), ufloat(*HEAT), ufloat(0, REPEATED),
        (ufloat(*MOISTURE), ufloat(*TOTAL), ufloat(*ASH), ufloat(*HYDROGEN)),
    )  # fmt: skip
    assert set(found.uncertainty) == set(theirs)
    for name, value in theirs.items():
        own = found.net.constant_pressure[Basis(name[4:])] if name[:4] == "net_" else found.gross_J_per_g[Basis(name)]
        assert own == pytest.approx(value.nominal_value, abs=0.2), name
        assert found.uncertainty[name].complete, found.uncertainty[name].missing
        assert found.uncertainty[name].standard_J_per_g == pytest.approx(value.std_dev, rel=2e-4), name


def test_every_figure_is_what_its_contributions_come_to(tmp_path: Path) -> None:
    """They are worked out apart from the figure, and must give it to the last bit; the largest one is advised on."""
    found = run(corrected(2.5, 2.5, Moisture_standard_uncertainty=(0.3, "%", "own")), tmp_path).samples[0]
    for name, entry in found.uncertainty.items():
        by_name = parts(entry)
        assert math.hypot(*by_name.values()) == entry.standard_J_per_g, name
        assert entry.advice.startswith(max(by_name, key=lambda part: by_name[part])), name


def test_draws_of_the_day_scatter_as_stated(tmp_path: Path) -> None:
    """Monte Carlo of the same model, 400 000 seeded draws, as JCGM 101 proposes (from memory, unchecked)."""
    found = run(corrected(2.5, 2.5), tmp_path).samples[0]
    draw = np.random.default_rng(20261125)
    capacity, rise, heat, *contents = (
        draw.normal(*entry, 400_000) for entry in (CAPACITY, RISE, HEAT, MOISTURE, TOTAL, ASH, HYDROGEN)
    )
    scatter = draw.normal(0, REPEATED, 400_000)
    for name, values in model(
        capacity, rise, heat, scatter, (contents[0], contents[1], contents[2], contents[3])
    ).items():
        stated_U = found.uncertainty[name].expanded_J_per_g
        assert float(np.std(values)) * 2 == pytest.approx(stated_U, rel=0.01), name
        inside = np.mean(np.abs(values - np.mean(values)) <= stated_U)
        assert inside == pytest.approx(0.9545, abs=0.002), name


def test_total_moisture_rules_the_net_value_as_received(tmp_path: Path) -> None:
    found = run(corrected(2.5, 2.5, Moisture_standard_uncertainty=(0.3, "%", "own")), tmp_path).samples[0]
    assert "total moisture" in found.uncertainty["net_ar"].advice
    assert "more firings do not help" in found.uncertainty["net_ar"].advice


def test_a_series_brings_its_scatter_and_its_certificate(tmp_path: Path) -> None:
    """Five firings of 1 g at 26 454 J/g with 60 J of ignition: C = 26 514 J / rise; s over the root of 5, by 2.5 K."""
    log = stated(2.5, 2.5, Heat_capacity_relative_uncertainty=None)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Benzoic acid standard uncertainty": (5, "J/g", "certificate"),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.5, "%", "own"),
    }
    rises = (2.650, 2.651, 2.652, 2.653, 2.654)
    for number, rise in enumerate(rises, 101):
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=1.0, temperature_rise=rise)
    found = of(log, tmp_path)
    capacities = [26514 / rise for rise in rises]
    scatter = 2.5 * statistics.stdev(capacities) / math.sqrt(5)
    assert parts(found)[budgets.SERIES] == pytest.approx(scatter, rel=1e-9)
    certificate = 2.5 * statistics.fmean(capacities) * 5 / 26454
    assert parts(found)[budgets.BENZOIC] == pytest.approx(certificate, rel=1e-9)
    assert "4 degrees of freedom" in found.contributions[0].note
    del log.setup["Benzoic acid standard uncertainty"]
    assert any("Benzoic" in text for text in of(log, tmp_path).missing)


def test_a_line_is_less_sure_away_from_its_middle(tmp_path: Path) -> None:
    """C = 10 000 J/K less 10 a kelvin from 2.5 K, with +1 and -1 J/K put in by hand so that it scatters.

    Rises 2, 2, 3, 3, 2.5, 2.5: six points, Sxx = 1; residual SD s = sqrt(6 / 4); at 3 K, half a kelvin from the
    middle, u = s sqrt(1/6 + 0.25 / 1), by 3 K / 1 g.
    """
    log = stated(3.0, 3.0, Heat_capacity_relative_uncertainty=None)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Benzoic acid standard uncertainty": (5, "J/g", "certificate"),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.5, "%", "own"),
        "Heat-capacity model": ("line",),
    }
    for number, (rise, off) in enumerate(((2, 1), (2, -1), (3, 1), (3, -1), (2.5, 1), (2.5, -1)), 101):
        capacity = 10000 - 10 * (rise - 2.5) + off
        mass = (capacity * rise - 60) / 26454
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=mass, temperature_rise=rise)
    found = of(log, tmp_path)
    expected = 3 * math.sqrt(6 / 4) * math.sqrt(1 / 6 + 0.25)
    assert parts(found)[budgets.SERIES] == pytest.approx(expected, rel=1e-6)


def test_a_typed_heat_exchange_counts_once_for_all_firings(tmp_path: Path) -> None:
    log = stated(2.5, 2.5)
    for row in log.rows["Runs"]:
        row["Heat-exchange correction (K)"] = 0.003
    assert "Heat-exchange standard uncertainty" in of(log, tmp_path).missing
    log.setup["Heat-exchange standard uncertainty"] = (0.001, "K", "own")
    assert parts(of(log, tmp_path))[budgets.HEAT_EXCHANGE] == pytest.approx(10.0, rel=1e-9)


def test_enough_pairs_of_the_log_itself_stand_for_its_scatter(tmp_path: Path) -> None:
    """Fifteen pairs 20 J/g apart and one 60: s^2 = (15 x 200 + 1 800) / 16 = 300, and one pair fewer is too few."""
    log = stated(Repeatability_standard_deviation=None, Reading_resolution=(0.0001, "K", "own"))
    log.setup["Balance standard uncertainty"] = (0.01, "mg", "own")
    for pair in range(15):
        rises = (2.5, 2.506) if pair == 0 else (2.5, 2.502)
        for number, rise in enumerate(rises):
            log.add("Runs", firing_no=100 + 2 * pair + number, sample_no=f"P{pair}", sample_mass=1.0,
                    temperature_rise=rise)  # fmt: skip
        log.add("Samples", sample_no=f"P{pair}", moisture_analysis=4.0)
    for number, rise in enumerate((2.5, 2.502), 1):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=1.0, temperature_rise=rise)
    found = of(log, tmp_path)
    assert parts(found)[budgets.REPEATABILITY] == pytest.approx(math.sqrt(300) / math.sqrt(2), rel=1e-9)
    assert "16 pairs of this log" in next(p.note for p in found.contributions if p.name == budgets.REPEATABILITY)
    for sheet in ("Runs", "Samples"):
        log.rows[sheet] = [row for row in log.rows[sheet] if row["Sample no."] not in {"P1", "P2"}]
    assert parts(of(log, tmp_path))[budgets.REPEATABILITY] == pytest.approx(120 / 2.77 / math.sqrt(2), rel=1e-9)
