"""Findings that look behind a heat capacity and behind a check that is within its limit.

Those that stop are carried by the firings that rest on the series, as those about heat capacities are.
"""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

_CHANGED = kinds(
    Severity.BLOCK,
    "Heat capacity",
    (
        "water-differs",
        "the water in the bomb is not that of the calibration: more than 0.5 mL off for review, more than 1 mL blocks",
        "{apparatus}: {today} of water in the bomb today, {calibration} in the calibration of {date}: values are "
        "found {effect}.",
        "Fill the bomb as in the calibration; a mistyped volume is corrected in the log, else fire again or calibrate "
        "with the water that is used now.",
        Decision.HOLD,
    ),
    (
        "start-temperature-differs",
        "the firings start at another temperature than the calibration: more than 2 K for review, more than 5 K blocks",
        "{apparatus}: firings start at {today} today, at {calibration} in the calibration of {date}. The thermometer "
        "is read in another part of its scale, and the heat capacity of the water changes with temperature.",
        "Bring the water to the temperature of the calibration, or calibrate at the one that is used now.",
        Decision.HOLD,
    ),
    (
        "acid-habit-changed",
        "the washings of the calibration hold no acid and those of the day do, or the other way round",
        "{apparatus}: nitric acid heat is {today} today and {calibration} in the calibration of {date}: values are "
        "found {effect}.",
        "Titrate both or neither: enter the missing titres, or calibrate with the habit of today.",
        Decision.HOLD,
    ),
)

_SERIES = kinds(
    Severity.REVIEW,
    "Calorimeter",
    (
        "series-one-day",
        "every firing of a series has the same date",
        "All {n} firings of {apparatus} were made on {date}: how the days differ is not in their scatter.",
        "Spread the next series over several days.",
    ),
    (
        "series-one-analyst",
        "every firing of a series was made by one of several analysts in the workbook",
        "All {n} firings of {apparatus} were made by {analyst}, and the workbook names {others} as well: how the "
        "analysts differ is not in their scatter.",
        "Share the next series among those who fire samples.",
    ),
    (
        "series-trend-with-rise",
        "the heat capacity changes with the rise: slope significant at 5 %, and more than 0.1 % over the rises",
        "{apparatus}: the heat capacity changes by {change} J/K ({percent} %) from a rise of {low} K to {high} K, "
        "which is more than scatter.",
        "Set the Heat-capacity model to line, or calibrate over the narrower range of rises that samples give.",
    ),
    (
        "series-trend-with-order",
        "the heat capacity changes from the first to the last firing of a series: slope significant at 5 %",
        "{apparatus}: the heat capacity changes by {change} J/K ({percent} %) from the first firing to the last, which "
        "is more than scatter.",
        "Warming up, water lost from the bucket, a titrant that ages? Let the apparatus settle and fire the series "
        "again if the cause is found.",
    ),
    (
        "series-outlier",
        "a firing of a series stands apart from the others (Grubbs at 1 %)",
        "{where}: firing {firing}, {value} J/K, stands apart from the other {others} of {apparatus}; their mean is "
        "{mean} J/K.",
        "Re-read its record. Only a technical cause removes it; without one it stays in the mean.",
    ),
    (
        "series-step",
        "a series differs from the one before by more than Series step limit",
        "{apparatus}: {value} J/K on {date}, {before} J/K on {date_before}: a step of {step}, the limit is {limit}. "
        "On the new one rest: {samples}.",
        "If a part was changed, note it and go on. If nothing was, find the cause, and look at what was reported with "
        "the old one.",
    ),
)

_CHECKS = kinds(
    Severity.REVIEW,
    "Calorimeter",
    (
        "check-warning",
        "a check is beyond Check warning limit and within Check limit, and no better one follows on the day",
        "Check firing {firing} on {apparatus} is off by {off} %; the warning limit is {warning} % ({source}).",
        "Fire a second check before more samples.",
    ),
    (
        "check-run-rule",
        "the checks of an apparatus make a pattern that chance seldom makes, though each is within its limit",
        "{apparatus}, check firings {firings}: {rules}, with an SD of {sd} % ({source}). The pattern is unlikely "
        "to be chance.",
        "Look for what has changed since {date}, and fire two checks on the next day.",
    ),
    (
        "check-drift",
        "the running sum of the checks passes its decision interval of 5 SD",
        "{apparatus}: {off} since {date}, and the running sum of the checks is beyond 5 SD; the SD is {sd} % "
        "({source}).",
        "Compare the conditions with those of the calibration, and plan a new series.",
    ),
    (
        "check-repeated",
        "a check within the limit follows one that was out on the same day",
        "Check firing {first} on {apparatus} was out by {off} %, check firing {firing} of the same day is within the "
        "limit: both are kept.",
        "Find the cause of the first and write it down; a second check alone does not explain it.",
    ),
    (
        "look-back",
        "a check is out: what was fired on the apparatus since the last good check rests on the same heat capacity",
        "What was fired on {apparatus} since {since} is put in doubt by check firing {checks}: {firings}. With a heat "
        "capacity off by {off} %, {effect}.",
        "Judge these again once the cause is known. {further}.",
    ),
)

_HABITS = kinds(
    Severity.REVIEW,
    "Calorimeter",
    (
        "wire-differs-from-calibration",
        "the wire is logged otherwise than in the calibration, or its fitted length or mass differs by more than 20 %",
        "{apparatus}: wire {today} today, {calibration} in the calibration of {date}: an error of its heat no longer "
        "cancels; {error} % of it is worth {effect} J/g.",
        "Fit the wire as in the calibration, or calibrate with the wire that is used now.",
    ),
    (
        "thread-differs-from-calibration",
        "thread is used today and was not in the calibration, or the other way round",
        "{apparatus}: thread {today} today, {calibration} in the calibration of {date}: an error of its heat no longer "
        "cancels; {error} % of it is worth {effect} J/g.",
        "Ignite as in the calibration, or calibrate as it is done now.",
    ),
    (
        "oxygen-pressure-differs",
        "the oxygen pressure differs from the calibration's by more than 0.2 MPa",
        "{apparatus}: filled to {today} today, to {calibration} in the calibration of {date}{effect}.",
        "Fill the bomb as in the calibration, within the limits of the equipment's instructions.",
    ),
)

_ENDING = kinds(
    Severity.NOTE,
    "Calorimeter",
    (
        "series-ending",
        "a heat capacity in use has spent more than 85 % of its life",
        "The heat capacity of {apparatus}, of {date}, holds until {expires}: {left} left.",
        "Fire the next series by then{count}.",
    ),
)

CALORIMETER = (*_CHANGED, *_SERIES, *_CHECKS, *_HABITS, *_ENDING)
