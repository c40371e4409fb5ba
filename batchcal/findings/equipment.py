"""Findings about what the lab logs of its equipment: changes, dates that have passed, times in service."""

from batchcal.findings.kinds import CAUTION, Severity, kinds
from batchcal.terms import Decision

_SAFETY = kinds(
    Severity.SAFETY,
    "Safety",
    (
        "bomb-out-of-service-used",
        "a firing is dated outside the time in service of its bomb or calorimeter",
        "Firing {firing}, of {date}: {item} is logged as in service {span}.",
        "Fire nothing more in {apparatus} until the responsible person has said whether it may be used, or correct "
        "the date, the bomb or Equipment if that was the slip. " + CAUTION,
        Decision.HOLD,
    ),
    (
        "proof-test-overdue",
        "a bomb was fired after its pressure test was due, or a gauge was used after its calibration was due",
        "The {what} of {item} was due on {due}; after that came {firings}.",
        "Do not use it until that has been done and entered on Equipment. " + CAUTION,
        Decision.HOLD,
    ),
)

_CHANGED = kinds(
    Severity.BLOCK,
    "Heat capacity",
    (
        "part-changed",
        "something of an apparatus was changed after the date of the heat capacity in force, and it was fired since",
        "{part} was changed on {changed}, and the heat capacity of {apparatus} is of {date}; on it rest {firings}.",
        "Fire a new benzoic acid series; results since the change wait for it.",
        Decision.WAIT,
    ),
)

_REVIEW = kinds(
    Severity.REVIEW,
    "Equipment",
    (
        "equipment-overdue",
        "a thermometer, balance, burette or calorimeter was used after its calibration was due",
        "The calibration of {item} was due on {due}; after that came {firings}.",
        "Have it calibrated, or compare it with one that is, and write down what that means for the results since "
        "then. Enter the new calibration in a row of its own.",
    ),
    (
        "bomb-service-due",
        "as many firings since the last service as are allowed between two, or more",
        "{where}: {item} has {count} firings since its service; {limit} are allowed between two services.",
        "Have it serviced before it is fired again. " + CAUTION,
    ),
    (
        "equipment-row-unfit",
        "a row of Equipment holds dates or numbers and cannot be joined to firings, or its dates contradict each other",
        "{where}: {item}: {why}, so no firing is held to it.",
        "Complete or correct the row.",
    ),
)

EQUIPMENT = (*_SAFETY, *_CHANGED, *_REVIEW)
