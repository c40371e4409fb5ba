"""Findings that concern the safety of people: the lab's own limits, and leaks."""

from batchcal.findings.kinds import CAUTION, Severity, kinds
from batchcal.terms import Decision

SAFETY = kinds(
    Severity.SAFETY,
    "Safety",
    (
        "charge-energy-over",
        "heat released is more than Setup's maximum charge energy",
        "Firing {firing}: {energy} kJ were released; the limit entered is {limit} kJ.",
        "Do not fire this fuel again at this mass; take {apparatus} out of use until it has been looked at. " + CAUTION,
        Decision.HOLD,
    ),
    (
        "charge-mass-over",
        "sample and aids together are heavier than Setup's maximum sample mass",
        "Firing {firing}: {mass} g of sample and aids; the limit entered is {limit} g.",
        "Do not fire this mass again. " + CAUTION,
        Decision.HOLD,
    ),
    (
        "oxygen-pressure-over",
        "oxygen pressure is above Setup's maximum",
        "Firing {firing}: filled to {pressure} MPa; the limit entered is {limit} MPa.",
        "Take {apparatus} out of use until the responsible person decides; have gauge and regulator checked. "
        + CAUTION,
        Decision.HOLD,
    ),
    (
        "leak-logged",
        "the outcome of a firing is leak",
        "Firing {firing}: a leak is logged for {apparatus}.",
        "Do not use this bomb until seals and valve have been checked. " + CAUTION,
    ),
)

OUT_OF_USE = frozenset(
    {
        "charge-energy-over",
        "oxygen-pressure-over",
        "leak-logged",
        "bomb-out-of-service-used",
        "proof-test-overdue",
    }
)
"""Safety findings whose remedy takes the apparatus out of use."""
