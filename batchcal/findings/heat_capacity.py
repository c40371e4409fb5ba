"""Findings about heat capacities and check firings."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

HEAT_CAPACITY = kinds(
    Severity.BLOCK,
    "Heat capacity",
    (
        "benzoic-heat-missing",
        "benzoic acid is fired and its certificate value or mass basis is blank",
        "Setup does not give the {what} of the benzoic acid, so no heat capacity and no check can be computed.",
        "Enter it from the certificate of the lot in use.",
        Decision.HOLD,
    ),
    (
        "certificate-conditions-missing",
        "the certificate value is to be corrected to the conditions, and one of them is missing",
        "{where}: firing {firing}: to correct the certificate value to the conditions {missing} is missing.",
        "Enter it, or set Certificate conditions to as certified.",
        Decision.HOLD,
    ),
    (
        "heat-capacity-missing",
        "no heat capacity is dated on or before a firing for its calorimeter and bomb",
        "No heat capacity of {apparatus} is in force on {dates} ({firings}){earliest}.",
        "Fire a benzoic acid series and log it on Calibration, or correct the calorimeter, the bomb or the date.",
        Decision.HOLD,
    ),
    (
        "heat-capacity-twice",
        "Setup gives a heat capacity for a calorimeter and bomb that has a series as well",
        "{where}: Setup gives {value} J/K for {apparatus}, and Calibration has a series ({series} J/K).",
        "Clear the one that is not in force. The firings are computed with the series, as provisional.",
        Decision.HOLD,
    ),
    (
        "heat-capacity-incomplete",
        "a heat capacity on Setup has no source or no date",
        "{where}: the heat capacity of {apparatus} has no {missing}.",
        "Enter where it comes from and from when it is in force; until then results with it are provisional.",
        Decision.HOLD,
    ),
    (
        "series-undated",
        "a used firing of a series has no date",
        "{where}: {firings} of the series {have} no date ({rows}), so it cannot be put in force.",
        "Enter the Date in each row.",
        Decision.HOLD,
    ),
    (
        "series-not-named",
        "between calibration firings without a Series stand samples or checks, or more than 14 days",
        "{where}: the calibration firings of {apparatus} without a Series look like several series: {groups}. No heat "
        "capacity is taken from them.",
        "Give each series a name in Series, the same in every row of it.",
        Decision.HOLD,
    ),
    (
        "series-limit-missing",
        "Series minimum, Series relative SD limit or Heat-capacity life is blank",
        "Setup gives no {items}, so the heat capacity of {apparatus} cannot be judged.",
        "Enter your own figure with its Source, or `method` with a Source to confirm the method's.",
        Decision.HOLD,
    ),
    (
        "series-expired",
        "the heat capacity is older than Heat-capacity life at the firing",
        "The heat capacity of {apparatus}, of {date}, expired on {expires}; it is used on {used}.",
        "Fire a new benzoic acid series; results that rest on this one wait for it.",
        Decision.WAIT,
    ),
    (
        "series-too-few",
        "a series has fewer used firings than Series minimum",
        "The series of {apparatus} has {n} used firings; {minimum} are needed.",
        "Fire the missing benzoic acid charges; results that rest on this series wait for them.",
        Decision.WAIT,
    ),
    (
        "series-too-scattered",
        "the relative SD of a series is above Series relative SD limit",
        "The series of {apparatus} scatters by {rsd} %; the limit is {limit} %.",
        "Look for the cause (soot, leak, water, stirrer, a misread start) and fire the series again.",
        Decision.WAIT,
    ),
    (
        "check-out",
        "a check firing deviates from the certificate by more than Check limit",
        "Check firing {firing} on {apparatus}: {found} J/g, {recovery} % of the certificate; off by {off}, the "
        "limit is {limit}.",
        "Before any sample: re-read wire, acid and mass; look at the water and for soot; fire a second check. If "
        "that is out as well, a new series is due. Set the first aside only once its technical cause is known.",
        Decision.HOLD,
    ),
)
