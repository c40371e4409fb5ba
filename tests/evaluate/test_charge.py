"""Edges of mass, rise, ignition and aid, worked by hand: C = 10 000 J/K, 60 J of fixed ignition heat, no acid."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.model import Evaluation, FiringResult
from batchcal.terms import Decision, FiringState


def changed(log: Log, row: dict[str, Any]) -> Log:
    """The log with its first firing changed; None clears a cell."""
    log.rows["Runs"][0] |= row
    return log


def wired(row: dict[str, Any], wire: tuple[Any, ...] | None, thread: tuple[Any, ...] | None = None) -> Log:
    """Both firings with the same wire or thread, and no fixed heat."""
    log = plain_log(2.5, 2.5)
    del log.setup["Fixed ignition heat"]
    for name, entry in (("Wire heat", wire), ("Thread heat", thread)):
        if entry is not None:
            log.setup[name] = (*entry, "own")
    for logged in log.rows["Runs"]:
        logged.update(row)
    return log


def stopped(evaluation: Evaluation, code: str, cell: str | None = None) -> FiringResult:
    """Firing 1, having been stopped by a finding of this code at this cell, and its sample held."""
    found = next(f for f in evaluation.findings if f.code == code)
    assert (found.sheet, found.firing, found.sample) == ("Runs", "1", "S1")
    if cell:
        assert found.cell == cell
    result = firing(evaluation, 1)
    assert result.state is FiringState.NOT_COMPUTED
    assert result.gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD
    return result


@pytest.mark.parametrize(
    ("crucible", "gross", "typed", "agrees"),
    [
        # differences 1.0000 g from weighings whose binary fractions do not cancel
        (12.3456, 13.3456, 1.00015, True),
        (12.3456, 13.3456, 0.99985, True),
        (8.7654, 9.7654, 1.00016, False),
        (8.7654, 9.7654, 0.99984, False),
        (30.1234, 31.1234, 1.00015, True),
    ],
)
def test_the_0_15_mg_edge_on_both_sides(
    tmp_path: Path, crucible: float, gross: float, typed: float, agrees: bool
) -> None:
    row = {"Crucible (g)": crucible, "Crucible + sample (g)": gross, "Sample mass (g)": typed}
    evaluation = run(changed(plain_log(2.5, 2.5), row), tmp_path)
    if agrees:
        # whichever of the two is taken, 0.15 mg in 1 g is 24 940 x 0.00015 = 3.8 J/g
        assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(24940, abs=3.8)
    else:
        stopped(evaluation, "mass-disagrees", "P2")  # Sample mass is the 16th column


def test_mass_by_difference_only_keeps_its_trace_at_the_gross_weighing(tmp_path: Path) -> None:
    row = {"Sample mass (g)": None, "Crucible (g)": 12.5, "Crucible + sample (g)": 11.5}  # exchanged: -1 g
    stopped(run(changed(plain_log(2.5, 2.5), row), tmp_path), "mass-unfit", "O2")


def test_a_crucible_weighed_with_its_thread_gives_the_sample_alone(tmp_path: Path) -> None:
    # 4 mg of thread lie in both weighings: 12.5040 - 11.5040 = 1 g; 4 x 17.5 = 70 J; 25 000 - 70
    row = {"Sample mass (g)": None, "Crucible (g)": 11.504, "Crucible + sample (g)": 12.504, "Thread (mg)": 4}
    log = wired(row, None, (17.5, "J/mg"))
    assert firing(run(log, tmp_path), 1).gross_ad_J_per_g == pytest.approx(24930, rel=1e-12)


@pytest.mark.parametrize(
    ("initial", "final", "typed", "agrees"),
    [
        (22.001, 24.501, 2.501, True),  # 2.500 read, 0.001 apart
        (22.001, 24.501, 2.499, True),
        (22.001, 24.501, 2.498, False),
        (22.001, 24.501, 2.502, False),
    ],
)
def test_the_step_edge_of_the_rise(tmp_path: Path, initial: float, final: float, typed: float, agrees: bool) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Reading resolution"] = (0.001, "K", "own")
    row = {"Initial temperature (°C)": initial, "Final temperature (°C)": final, "Temperature rise (K)": typed}
    evaluation = run(changed(log, row), tmp_path)
    if agrees:
        # one step is 0.001 x 10 000 = 10 J/g
        assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(24940, abs=10.001)
    else:
        stopped(evaluation, "rise-disagrees", "AB2")


def test_two_temperatures_in_kelvin_differ_as_those_in_celsius(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    swap = {"Initial temperature (°C)": "Initial temperature (K)", "Final temperature (°C)": "Final temperature (K)"}
    log.headings["Runs"] = [swap.get(heading, heading) for heading in log.headings["Runs"]]
    row = {"Temperature rise (K)": None, "Initial temperature (K)": 295.15, "Final temperature (K)": 297.65}
    result = firing(run(changed(log, row), tmp_path), 1)
    assert result.rise_K == pytest.approx(2.5, abs=1e-9)
    assert result.row.initial_C == pytest.approx(22.0, abs=1e-9)


def test_final_below_initial_is_no_rise(tmp_path: Path) -> None:
    row = {"Temperature rise (K)": None, "Initial temperature (°C)": 24.5, "Final temperature (°C)": 22.0}
    stopped(run(changed(plain_log(2.5, 2.5), row), tmp_path), "rise-unfit")


@pytest.mark.parametrize(("exchange", "gross"), [(0.01, 25040), (-0.01, 24840), (0, 24940), (None, 24940)])
def test_heat_exchange_is_added_with_its_sign(tmp_path: Path, exchange: float | None, gross: float) -> None:
    result = firing(
        run(changed(plain_log(2.5, 2.5), {"Heat-exchange correction (K)": exchange}), tmp_path),
        1,
    )
    assert result.gross_ad_J_per_g == pytest.approx(gross, rel=1e-12)
    assert result.rise_K == 2.5  # stays uncorrected


def test_a_correction_that_eats_the_rise_is_not_computed(tmp_path: Path) -> None:
    evaluation = run(changed(plain_log(2.5, 2.5), {"Heat-exchange correction (K)": -2.6}), tmp_path)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(
    ("row", "wire", "calorie", "heat"),
    [
        # 10 - 3 = 7 cm
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, (2.3, "cal/cm"), "international", 7 * 2.3 * 4.1868),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, (2.3, "cal/cm"), "thermochemical", 7 * 2.3 * 4.184),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, (2.3, "cal/cm"), 4.1858, 7 * 2.3 * 4.1858),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 10}, (9.6, "J/cm"), None, 0.0),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 0}, (9.6, "J/cm"), None, 96.0),
        # 12 mg x 1.4 cal/mg is 1 400 cal/g: 0.012 x 1 400 x 4.184
        ({"Wire mass (mg)": 12}, (1400, "cal/g"), "thermochemical", 16.8 * 4.184),
    ],
)
def test_wire_by_length_and_by_mass(
    tmp_path: Path, row: dict[str, Any], wire: tuple[Any, ...], calorie: Any, heat: float
) -> None:
    log = wired(row, wire)
    if calorie is not None:
        log.setup["Calorie"] = (calorie,)
    result = firing(run(log, tmp_path), 1)
    assert result.ignition_J == pytest.approx(heat, rel=1e-12, abs=1e-12)
    assert result.gross_ad_J_per_g == pytest.approx(25000 - heat, rel=1e-12)


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"Wire left (cm)": 3}, "wire-left-missing"),
        ({"Wire fitted (cm)": -10, "Wire left (cm)": 0}, "amount-negative"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": -1}, "amount-negative"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 10.1}, "wire-left-more"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3, "Thread (mg)": -1}, "amount-negative"),
    ],
)
def test_impossible_wire_and_thread(tmp_path: Path, row: dict[str, Any], code: str) -> None:
    log = wired({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, (9.6, "J/cm"), (17.5, "J/mg"))
    log.rows["Runs"][0] = {k: v for k, v in log.rows["Runs"][0].items() if not k.startswith("Wire")} | row
    stopped(run(log, tmp_path), code)


def test_thread_without_its_heat(tmp_path: Path) -> None:
    log = wired({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, (9.6, "J/cm"))
    stopped(run(changed(log, {"Thread (mg)": 3}), tmp_path), "wire-heat-missing")


@pytest.mark.parametrize("name", ["Wire heat", "Thread heat"])
def test_fixed_heat_with_wire_or_thread_heat_is_a_finding(tmp_path: Path, name: str) -> None:
    log = plain_log(2.5, 2.5)
    log.setup[name] = (17.5, "J/mg", "own")
    evaluation = run(log, tmp_path)
    assert "ignition-given-twice" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize("row", [{"Aid": "oil", "Aid mass (g)": -0.1}, {"Capsule mass (g)": -0.05}])
def test_a_negative_aid_or_capsule(tmp_path: Path, row: dict[str, Any]) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Aid heat [oil]"] = (46000, "J/g", "own")
    log.setup["Capsule heat [gelatin]"] = (19000, "J/g", "own")
    stopped(run(changed(log, row), tmp_path), "amount-negative")


def test_each_aid_has_its_own_heat(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Calorie"] = ("thermochemical",)
    log.setup["Aid heat [oil]"] = (46000, "J/g", "own")
    log.setup["Aid heat [wax]"] = (11000, "cal/g", "own")
    for row, aid in zip(log.rows["Runs"], ("oil", "wax"), strict=True):
        row |= {"Aid": aid, "Aid mass (g)": 0.1}
    evaluation = run(log, tmp_path)
    # 0.1 x 46 000 = 4 600; 0.1 x 11 000 x 4.184 = 4 602.4
    assert [firing(evaluation, n).aid_J for n in (1, 2)] == pytest.approx([4600, 4602.4], rel=1e-12)


def test_two_capsule_heats_and_no_way_to_tell(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Capsule heat [gelatin]"] = (19000, "J/g", "own")
    log.setup["Capsule heat [film]"] = (45000, "J/g", "own")
    stopped(run(changed(log, {"Capsule mass (g)": 0.05}), tmp_path), "capsule-unclear")
