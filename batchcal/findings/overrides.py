"""Findings about overrides: blocks that a named reviewer has set aside with a reason."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

OVERRIDES = kinds(
    Severity.BLOCK,
    "Overrides",
    (
        "override-unfit",
        "an override has no reason or no reviewer, or the reviewer is the analyst of the firings",
        "{where}: the override of {overridden} does not count: {why}.",
        "An override needs a reason, and a reviewer by name who did not make the firings.",
        Decision.HOLD,
    ),
) + kinds(
    Severity.REVIEW,
    "Overrides",
    (
        "override-without-finding",
        "an override meets no blocking finding",
        "{where}: there is no blocking finding {overridden}{about}; the override has no effect.",
        "Remove it, or correct the name of the finding or its place. Safety findings cannot be overridden.",
    ),
) + kinds(
    Severity.NOTE,
    "Overrides",
    (
        "override-used",
        "a blocking finding is overridden on Amendments",
        "{where}: {overridden} is overridden by {reviewer}: {reason}.",
        "It is printed with the results; state it on the report where it bears on them.",
    ),
)  # fmt: skip
