"""The formulas against worked examples of others, which stand as data in batchcal/reference/check_values.

They are run by the same code that a user runs with ``batchcal verify``; what a status proves stands at ``Status``.
"""

from collections import Counter
from pathlib import Path

import pytest

from batchcal.formulas import (
    acids,
    bases,
    bomb,
    control,
    heat_exchange,
    net,
    outliers,
    quantiles,
    repeatability,
    statistics,
    trend,
    uncertainty,
    weighing,
)
from batchcal.verification.cases import CaseResult, Status, rows, run_case, run_cases
from batchcal.verification.checks import Check
from batchcal.verification.kinds import KINDS

FOLDER = Path(__file__).parents[2] / "batchcal" / "reference" / "check_values"
RESULTS = run_cases()


@pytest.mark.parametrize("result", RESULTS, ids=[f"{result.case}-{result.status}" for result in RESULTS])
def test_case(result: CaseResult) -> None:
    assert not result.trouble
    assert result.checks
    for check in result.checks:
        assert check.obtained == pytest.approx(check.expected, abs=check.tolerance, rel=0), result.source
        if check.printed_wrong is not None:
            assert abs(check.obtained - check.printed_wrong) > 10 * check.tolerance, result.source
    assert result.passed


def test_counts_by_status() -> None:
    """What may be claimed: the verified cases are counted apart from those that are our own arithmetic."""
    found = Counter(result.status for result in RESULTS)
    assert set(found) == set(Status)
    # Comparing a constant with its source is no worked example.
    worked = [result for result in RESULTS if result.status is Status.VERIFIED and result.kind.file != "constants.csv"]
    assert len(worked) >= 30
    assert all(result.source for result in RESULTS)
    assert len({(result.kind.file, result.case) for result in RESULTS}) == len(RESULTS)


def test_every_file_of_check_values_is_run() -> None:
    assert sorted(kind.file for kind in KINDS) == sorted(file.name for file in FOLDER.iterdir())
    assert all(rows(kind) for kind in KINDS)


def test_the_wrong_values_printed_are_looked_for() -> None:
    wrong = [result for result in RESULTS if result.status is Status.PUBLISHED_WRONG]
    assert len(wrong) >= 5
    for result in RESULTS:
        printed = [check for check in result.checks if check.printed_wrong is not None]
        assert bool(printed) == (result.status is Status.PUBLISHED_WRONG), result.case


def test_memory_is_named_as_memory() -> None:
    for result in RESULTS:
        if "recalled" in result.source.lower():
            assert result.status in (Status.MEMORY, Status.DERIVED)
            assert result.status is Status.MEMORY or "from memory, unchecked" in result.source, result.case


@pytest.mark.parametrize(
    ("module", "name", "factor"),
    [
        (bomb, "effective_heat_capacity", 1.001),
        (bomb, "gross_calorific_value", 1.001),
        (weighing, "heat_in_air", 1.0001),
        (heat_exchange, "two_rates", 1.01),
        (heat_exchange, "six_tenths", 1.01),
        (heat_exchange, "mean_temperature", 1.0001),
        (bases, "dry_from_as_analysed", 1.001),
        (bases, "as_received_from_as_analysed", 1.001),
        (bases, "dry_ash_free_from_as_analysed", 1.001),
        (net, "net_constant_pressure", 1.001),
        (net, "net_constant_volume", 1.001),
        (net, "hydrogen_without_moisture", 1.01),
        (net, "oxygen_without_moisture", 1.01),
        (statistics, "mean", 1 + 1e-12),
        (statistics, "standard_deviation", 1 + 1e-7),
        (statistics, "relative_sd_percent", 1 + 1e-7),
        (uncertainty, "root_sum_of_squares", 1.05),
        (uncertainty, "effective_degrees_of_freedom", 1.1),
        (quantiles, "student_t_critical", 1.01),
        (acids, "strength_from_portion", 1.001),
        (outliers, "grubbs_critical", 1.01),
        (outliers, "cochran_critical", 1.01),
        (repeatability, "critical_range_factor", 1.05),
        (control, "sd_factor", 1.01),
    ],
)
def test_a_formula_that_is_off_is_noticed(
    monkeypatch: pytest.MonkeyPatch, module: object, name: str, factor: float
) -> None:
    """Each formula that a kind names is put off by a little; some case of that kind must then fail."""
    formula = getattr(module, name)
    monkeypatch.setattr(module, name, lambda *args, **kwargs: factor * formula(*args, **kwargs))
    full = f"{getattr(module, '__name__', '').rpartition('.')[2]}.{name}"
    asked = [kind for kind in KINDS if full in kind.formulas]
    assert asked
    assert any(not run_case(kind, row).passed for kind in asked for row in rows(kind))


@pytest.mark.parametrize(
    ("module", "name", "field", "factor"),
    [
        (repeatability, "one_way", "mean", 1.01),
        (repeatability, "one_way", "within_sd", 1 + 1e-7),
        (repeatability, "one_way", "total_sd", 1.05),
        (repeatability, "one_way", "f", 1 + 1e-7),
        (repeatability, "pooled_sd_of_groups", "sd", 1 + 1e-7),
        (trend, "trend", "slope_sd", 1 + 1e-7),
        (trend, "trend", "mean_x", 1.01),
        (trend, "trend", "residual_sd", 1.01),
        (uncertainty, "gross_sensitivity", "heat_capacity", 1.01),
        (uncertainty, "gross_sensitivity", "rise", 1.01),
        (uncertainty, "gross_sensitivity", "side_heat", 1.1),
        (uncertainty, "gross_sensitivity", "mass", 1.1),
        (control, "range_factors", "d2", 1.01),
        (control, "range_factors", "D4", 1.01),
        (control, "range_factors", "A2", 1.01),
    ],
)
def test_one_of_several_answers_that_is_off_is_noticed(
    monkeypatch: pytest.MonkeyPatch, module: object, name: str, field: str, factor: float
) -> None:
    formula = getattr(module, name)

    def off(*args: object, **kwargs: object) -> object:
        answer = formula(*args, **kwargs)
        return answer._replace(**{field: factor * getattr(answer, field)})

    monkeypatch.setattr(module, name, off)
    full = f"{getattr(module, '__name__', '').rpartition('.')[2]}.{name}"
    asked = [kind for kind in KINDS if full in kind.formulas]
    assert asked
    assert any(not run_case(kind, row).passed for kind in asked for row in rows(kind))


@pytest.mark.parametrize("name", ["total_as_nitric", "sulphur_apart", "two_titrations_mol"])
def test_acids_exchanged_are_noticed(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    formula = getattr(acids, name)
    monkeypatch.setattr(acids, name, lambda **given: tuple(1.05 * heat for heat in reversed(formula(**given))))
    assert any(not result.passed for result in run_cases() if f"acids.{name}" in result.kind.formulas)


@pytest.mark.parametrize(
    ("obtained", "wrong", "passed"),
    [
        (10.0, None, True),
        (10.1, None, True),
        (10.2, None, False),
        (9.8, None, False),
        (float("nan"), None, False),
        (10.0, 10.5, False),
        (10.0, 12.0, True),
    ],
)
def test_a_value_passes_within_its_tolerance_only(obtained: float, wrong: float | None, passed: bool) -> None:
    assert Check("value", "J", 10.0, 0.11, obtained, wrong).passed is passed
