"""The kinds of cases of statistics: means, lines, uncertainty, analysis of variance, and tables of factors."""

import math
from collections.abc import Iterator

from batchcal.formulas import (
    acids,
    bomb,
    control,
    heat_exchange,
    outliers,
    quantiles,
    repeatability,
    statistics,
    trend,
    uncertainty,
)
from batchcal.verification.checks import Check, Kind, Row, check, number, numbers, series


def _mean_and_spread(row: Row) -> Iterator[Check]:
    first, *rest = series(row, "data")
    values = [first, *rest * int(row["repeats"])]
    mean, sd = number(row, "mean"), number(row, "sd")
    relative = number(row, "relative_tolerance_sd")
    yield Check("mean", "", mean, 1e-14 * abs(mean), statistics.mean(values))
    yield Check("standard deviation", "", sd, relative * sd, statistics.standard_deviation(values))
    # Certified mean and SD together, so a slip in either shows in the ratio too.
    ratio = 100.0 * sd / mean
    yield Check(
        "relative standard deviation", "%", ratio, max(relative, 1e-12) * ratio, statistics.relative_sd_percent(values)
    )


def _straight_line(row: Row) -> Iterator[Check]:
    line = heat_exchange.drift(series(row, "x"), series(row, "y"))
    yield Check("slope", "", number(row, "slope"), number(row, "slope_tolerance"), line.rate_K_per_min)
    for at, value in zip(series(row, "at"), series(row, "value_at"), strict=True):
        yield Check(f"value at {at:g}", "", value, number(row, "value_tolerance"), line.at(at))
    yield Check("residual SD", "", number(row, "residual_sd"), number(row, "sd_tolerance"), line.residual_sd_K)
    found = trend.trend(series(row, "x"), series(row, "y"))
    sd, tolerance = number(row, "expected_slope_sd"), number(row, "slope_sd_tolerance")
    yield Check("standard deviation of the slope", "", sd, tolerance, found.slope_sd)
    for at, value in zip(series(row, "at"), series(row, "expected_sd_at"), strict=True):
        yield Check(
            f"standard deviation of the line at {at:g}", "", value, number(row, "sd_at_tolerance"), found.sd_at(at)
        )


def _uncertainty(row: Row) -> Iterator[Check]:
    """Run a table of contributions; the source cuts the degrees of freedom off to a whole number."""
    parts = [c * u for c, u in zip(series(row, "sensitivities"), series(row, "uncertainties"), strict=True)]
    yield check(row, "combined standard uncertainty", row["unit"], uncertainty.root_sum_of_squares(parts))
    freedom = uncertainty.effective_degrees_of_freedom(list(zip(parts, series(row, "degrees_of_freedom"), strict=True)))
    whole = math.floor(freedom)
    yield Check("degrees of freedom, cut off", "", number(row, "expected_degrees"), 0.0, whole)
    factor = quantiles.student_t_critical(1.0 - number(row, "confidence_percent") / 100.0, whole)
    yield Check("coverage factor", "", number(row, "expected_factor"), number(row, "factor_tolerance"), factor)


_HALF_WIDTH_TO_U = {
    "standard": 1.0,
    "even": uncertainty.reading_step_uncertainty(2.0),
    "triangle": 1.0 / math.sqrt(6.0),
}
"""Standard uncertainty by what a figure of a source stands for: itself, or half the width of a distribution."""


def _titrant_uncertainty(row: Row) -> Iterator[Check]:
    strength = acids.strength_from_portion(
        number(row, "portion_g") * number(row, "purity"), number(row, "molar_mass_g_per_mol"), 1.0,
        number(row, "titre_mL"), 0.0,
    )  # fmt: skip
    if row["second_titre_mL"]:
        strength *= number(row, "second_titre_mL") / number(row, "aliquot_mL")
    yield check(row, "strength of the titrant", "mol/L", strength)
    values, widths, shapes = series(row, "part_values"), series(row, "part_half_widths"), row["part_shapes"].split()
    relative = [
        width * _HALF_WIDTH_TO_U[shape] / value for value, width, shape in zip(values, widths, shapes, strict=True)
    ]
    found = strength * uncertainty.root_sum_of_squares(relative)
    yield Check("standard uncertainty", "mol/L", number(row, "expected_u"), number(row, "u_tolerance"), found)


def _gross_uncertainty(row: Row) -> Iterator[Check]:
    given = numbers(row, "heat_capacity_J_per_K", "corrected_rise_K", "mass_g")
    gross = bomb.gross_calorific_value(
        **given, ignition_J=number(row, "ignition_J"), aid_J=0.0, nitric_J=number(row, "nitric_J"), sulphuric_J=0.0
    )
    yield check(row, "gross calorific value", "J/g", gross, "expected_gross_J_per_g")
    by = uncertainty.gross_sensitivity(**given, gross_J_per_g=gross)
    parts = (
        by.heat_capacity * number(row, "u_heat_capacity_J_per_K"),
        by.rise * number(row, "u_rise_K"),
        by.mass * number(row, "u_mass_g"),
        by.side_heat * number(row, "u_ignition_J"),
        by.side_heat * number(row, "u_nitric_J"),
    )
    yield check(row, "its standard uncertainty", "J/g", uncertainty.root_sum_of_squares(parts), "expected_u_J_per_g")


def _groups(row: Row) -> Iterator[Check]:
    """Run an analysis of variance; a source gives some of its values."""
    groups = [[float(word) for word in group.split()] for group in row["groups"].split("|")]
    found = repeatability.one_way(groups)
    for name, quantity, unit, obtained in (
        ("mean", "mean of all", row["unit"], found.mean),
        ("within_sd", "standard deviation within groups", row["unit"], found.within_sd),
        ("total_sd", "standard deviation within and between groups", row["unit"], found.total_sd),
        ("f", "mean square between over within", "", found.f),
    ):
        if row[f"expected_{name}"]:
            tolerance = number(row, "f_tolerance" if name == "f" else "tolerance")
            yield Check(quantity, unit, number(row, f"expected_{name}"), tolerance, obtained)
    pooled = repeatability.pooled_sd_of_groups(groups).sd
    expected = number(row, "expected_within_sd")
    yield Check("standard deviation pooled", row["unit"], expected, number(row, "tolerance"), pooled)


def _factor(row: Row, n: int) -> float:
    match row["figure"]:
        case "Grubbs, either side":
            return outliers.grubbs_critical(n, number(row, "probability_percent") / 100.0)
        case "Grubbs, one side":
            return outliers.grubbs_critical(n, number(row, "probability_percent") / 100.0, sides=1)
        case "Cochran":
            return outliers.cochran_critical(int(row["groups"]), n, number(row, "probability_percent") / 100.0)
        case "critical range":
            return repeatability.critical_range_factor(n)
        case "d2":
            return control.range_factors(n).d2
        case "D4":
            return control.range_factors(n).D4
        case "A2":
            return control.range_factors(n).A2
        case "c4":
            return control.sd_factor(n)
        case figure:
            raise ValueError(f"no table of factors is called {figure!r}")


def _factors(row: Row) -> Iterator[Check]:
    for n, expected in zip(series(row, "n"), series(row, "expected_each"), strict=True):
        yield Check(f"{row['figure']}, n = {n:g}", "", expected, number(row, "tolerance"), _factor(row, int(n)))


STATISTICAL_KINDS = (
    Kind(
        "strd_univariate.csv",
        "Mean and standard deviation",
        ("statistics.mean", "statistics.standard_deviation", "statistics.relative_sd_percent"),
        _mean_and_spread,
    ),
    Kind("straight_line.csv", "Straight line through readings", ("heat_exchange.drift", "trend.trend"), _straight_line),
    Kind(
        "anova.csv",
        "Scatter within and between groups",
        ("repeatability.one_way", "repeatability.pooled_sd_of_groups"),
        _groups,
    ),
    Kind(
        "uncertainty.csv",
        "Combined uncertainty and its degrees of freedom",
        (
            "uncertainty.root_sum_of_squares",
            "uncertainty.effective_degrees_of_freedom",
            "quantiles.student_t_critical",
        ),
        _uncertainty,
    ),
    Kind(
        "titrant_uncertainty.csv",
        "Strength of a titrant with its uncertainty",
        ("acids.strength_from_portion", "uncertainty.root_sum_of_squares"),
        _titrant_uncertainty,
    ),
    Kind(
        "gross_uncertainty.csv",
        "Gross calorific value with its uncertainty",
        ("bomb.gross_calorific_value", "uncertainty.gross_sensitivity", "uncertainty.root_sum_of_squares"),
        _gross_uncertainty,
    ),
    Kind(
        "factors.csv",
        "Critical values and factors of control charts",
        (
            "outliers.grubbs_critical",
            "outliers.cochran_critical",
            "repeatability.critical_range_factor",
            "control.range_factors",
            "control.sd_factor",
        ),
        _factors,
    ),
)
"""Every kind of statistics, in the order of the record."""
