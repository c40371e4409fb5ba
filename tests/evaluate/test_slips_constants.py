"""Constants on Setup that do not look like what they are said to be, by hand."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, SINCE, Log, codes, plain_log, run

from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation

OURS = {
    "heat-unusual", "benzoic-value-suspect", "benzoic-lot-differs", "calorie-definition-suspect", "series-steps-alike",
}  # fmt: skip


def only(evaluation: Evaluation, code: str) -> Finding:
    found = [finding for finding in evaluation.findings if finding.code == code]
    assert len(found) == 1, codes(evaluation)
    return found[0]


def ours(evaluation: Evaluation) -> set[str]:
    return OURS & set(codes(evaluation))


def benzoic_log(*heat: Any, basis: str = "air", remark: str | None = None) -> Log:
    """Five benzoic acid charges of 1 g, a pair of a sample, and this heat of combustion on Setup."""
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": heat,
        "Benzoic acid mass basis": (basis,),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    series(log, 1.0, dt.date(2026, 10, 1), 101, remark=remark)
    return log


def series(log: Log, factor: float, day: dt.date, first: int, **extra: Any) -> None:
    """Add a series of C = 26 514 / 2.65, less in the ratio of the factor."""
    for number, rise in enumerate((2.65, 2.652, 2.648, 2.651, 2.649), first):
        log.add("Calibration", firing_no=number, date=day, sample_mass=1.0, temperature_rise=round(rise * factor, 4),
                **extra)  # fmt: skip


@pytest.mark.parametrize(
    ("heat", "told"),
    [
        ((6318, "J/g", "c"), "in cal/g or kcal/kg (times 4.184), it would fit"),
        ((11373, "J/g", "c"), "in Btu/lb (times 2.326), it would fit"),
        ((26.454, "J/g", "c"), "in J/mg, kJ/g or MJ/kg (times 1000), it would fit"),
        ((26454, "kJ/g", "c"), "in J/g or kJ/kg (divided by 1000), it would fit"),
        ((20000, "J/g", "c"), "possible)"),
    ],
)
def test_the_factor_of_a_slip_is_named_and_only_the_slip(tmp_path: Path, heat: tuple[Any, ...], told: str) -> None:
    evaluation = run(benzoic_log(*heat), tmp_path)
    assert told in only(evaluation, "setup-number-unfit").message
    # Nothing could be computed of the series, which is said already.
    assert "series-too-few" not in codes(evaluation)
    assert not ours(evaluation)


def test_a_series_with_too_few_firings_of_its_own_still_says_so(tmp_path: Path) -> None:
    log = benzoic_log(26454, "J/g", "c")
    del log.rows["Calibration"][3:]
    assert "series-too-few" in codes(run(log, tmp_path))
    for row in log.rows["Calibration"]:
        row["Outcome"] = "misfire"
    assert "series-too-few" in codes(run(log, tmp_path)) or "heat-capacity-missing" in codes(run(log, tmp_path))


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (2390, "in cal/K or cal/°C (times 4.184), it would fit"),
        (10, "in kJ/K or kJ/°C (times 1000)"),
        (1e6, "unusual."),
    ],
)
def test_the_factor_of_an_unusual_heat_capacity_is_named(tmp_path: Path, value: float, told: str) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = (value, "J/K", "own series", SINCE)
    assert told in only(run(log, tmp_path), "heat-capacity-unusual").message


@pytest.mark.parametrize(
    ("item", "entry", "told"),
    [
        ("Wire heat", (8.4, "J/cm", "spool"), None),
        ("Wire heat", (1400, "J/g", "spool"), None),
        ("Wire heat", (0, "J/g", "platinum"), None),
        ("Wire heat", (8.4, "J/g", "spool"), "400 to 8000 J/g is usual; in J/cm, it would fit"),
        ("Wire heat", (2.3, "J/mm", "spool"), "1 to 20 J/cm is usual; in"),
        ("Thread heat", (17.5, "J/mg", "lot 2"), None),
        ("Thread heat", (17.5, "J/g", "lot 2"), "(times 1000)"),
        ("Thread heat", (4180, "J/g", "lot 2"), "in cal/g or kcal/kg (times 4.184), it would fit"),
        ("Fixed ignition heat", (60, "J", "own"), None),
        ("Fixed ignition heat", (60, "kJ", "own"), "in J (divided by 1000)"),
        ("Aid heat [paraffin]", (46320, "J/g", "own"), None),
        ("Aid heat [paraffin]", (11000, "J/g", "own"), "in cal/g or kcal/kg (times 4.184)"),
        ("Capsule heat [gelatine]", (18.93, "J/g", "own"), "(times 1000)"),
    ],
)
def test_heats_that_are_unusual(tmp_path: Path, item: str, entry: tuple[Any, ...], told: str | None) -> None:
    log = plain_log(2.5, 2.5)
    log.setup[item] = entry
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == (set() if told is None else {"heat-unusual"})
    if told is not None:
        found = only(evaluation, "heat-unusual")
        assert told in found.message
        assert found.cell is not None
        assert found.severity is Severity.REVIEW


@pytest.mark.parametrize(
    ("value", "basis", "off"),
    [
        (26434, "vacuum", None),
        (26454, "air", None),
        (26467, "air", None),  # an example in ISO 9831
        (26460, "vacuum", None),
        (26461, "vacuum", "+0.10"),  # 27 / 26 434 is 0.102 %
        (26400, "air", "-0.20"),
    ],
)
def test_a_benzoic_acid_value_that_is_not_the_known_one(
    tmp_path: Path, value: float, basis: str, off: str | None
) -> None:
    evaluation = run(benzoic_log(value, "J/g", "certificate", basis=basis), tmp_path)
    assert ours(evaluation) == (set() if off is None else {"benzoic-value-suspect"})
    if off is not None:
        assert f"({basis}) is {off} % off the" in only(evaluation, "benzoic-value-suspect").message


@pytest.mark.parametrize(
    ("source", "remark", "lot"),
    [
        ("Certificate of lot 7", "benzoic acid lot 7", None),
        ("Certificate of lot no. 6", "Benzoic acid, lot 7", "7"),
        ("Certificate, lot BA-6", "benzoic acid Lot ba-6", None),
        ("Certificate", "benzoic acid lot 7", None),
        ("Certificate of lot 6", "new wire, lot 3", None),
        ("Certificate of lot 6", "benzoic acid, a lot of soot", None),
    ],
)
def test_the_lot_of_the_value_and_the_lot_that_was_fired(
    tmp_path: Path, source: str, remark: str, lot: str | None
) -> None:
    evaluation = run(benzoic_log(26454, "J/g", source, remark=remark), tmp_path)
    assert ours(evaluation) == (set() if lot is None else {"benzoic-lot-differs"})
    if lot is not None:
        found = only(evaluation, "benzoic-lot-differs")
        assert "5 benzoic acid firings name lot 7 (firings 101, 102, 103, 104 and 105)" in found.message


@pytest.mark.parametrize(
    ("value", "calorie", "found"),
    [
        (26454 / 4.1868, "international", False),
        (26454 / 4.184, "thermochemical", False),
        (26454 / 4.1868, "thermochemical", True),  # 26 436 J/g instead of 26 454
        (26454 / 4.184, "international", True),
        (26454 / 4.1819, "international", True),
    ],
)
def test_a_certificate_in_calories_of_another_kind(tmp_path: Path, value: float, calorie: str, *, found: bool) -> None:
    log = benzoic_log(round(value, 2), "cal/g", "certificate")
    log.setup["Calorie"] = (calorie,)
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == ({"calorie-definition-suspect"} if found else set())


@pytest.mark.parametrize(
    ("off_percent", "count", "found"),
    [
        (-0.067, 10, True),
        (0.067, 12, True),
        (-0.117, 10, True),
        (-0.067, 9, False),
        (0.0, 12, False),
        (0.09, 12, False),
    ],
)
def test_many_checks_off_by_the_factor_between_two_calories(
    tmp_path: Path, off_percent: float, count: int, *, found: bool
) -> None:
    """With C = 10 000 J/K a check of 1 g gives 26 454 J/g at (26 454 + 60) / 10 000 = 2.6514 K."""
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (0.5, "%", "own"),
    }
    for number in range(count):
        value = 26454 * (1 + off_percent / 100 + 0.0001 * (-1) ** number)
        log.add("Runs", firing_no=200 + number, purpose="check", date=DAY, sample_mass=1.0,
                temperature_rise=(value + 60) / 10000)  # fmt: skip
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == ({"calorie-definition-suspect"} if found else set())


@pytest.mark.parametrize(("second", "found"), [(1.002, True), (1.0, False), (0.998, False), (1.006, False)])
def test_series_that_moved_alike(tmp_path: Path, second: float, *, found: bool) -> None:
    """Each series has a relative SD of 0.06 %, so a step has a standard error of 0.06 sqrt(2/5) = 0.04 %."""
    log = benzoic_log(26454, "J/g", "certificate")
    log.rows["Calibration"] = []
    for bomb, factor, first in (("B1", 1.002, 101), ("B2", second, 121)):
        series(log, 1.0, dt.date(2026, 8, 1), first, bomb=bomb)
        series(log, factor, dt.date(2026, 10, 1), first + 10, bomb=bomb, series="new")
    for row in log.rows["Runs"]:
        row["Bomb"] = "B1"
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == ({"series-steps-alike"} if found else set())
    if found:
        message = only(evaluation, "series-steps-alike").message
        assert message.startswith("bomb B1 and bomb B2 moved by -0.20 % alike")
