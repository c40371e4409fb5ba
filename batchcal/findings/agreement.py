"""Findings about the agreement of the firings of a sample."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

AGREEMENT = kinds(
    Severity.BLOCK,
    "Agreement",
    (
        "no-good-firing",
        "a sample has no firing that can be used",
        "Sample {sample}: none of its {count} firings can be used.",
        "Fire two portions.",
        Decision.REPEAT,
    ),
    (
        "single-firing",
        "a sample has one usable firing",
        "Sample {sample}: one usable firing ({firing}); two are needed.",
        "Fire a second portion tonight.",
        Decision.REPEAT,
    ),
    (
        "pair-apart",
        "two firings differ by more than the limit",
        "Sample {sample}: firings {firings} are {range} J/g apart; the limit is {limit} J/g ({over} J/g over).",
        "First re-read the raw records and the kept washings; if nothing is found fire a third portion. "
        "Three are accepted within {next} J/g{beyond}.",
        Decision.REPEAT,
    ),
    (
        "three-apart",
        "three firings range over more than 1.2 times the limit",
        "Sample {sample}: three firings range over {range} J/g; the limit for three is {limit} J/g.",
        "Fire a fourth portion. Four are accepted within {next} J/g{beyond}.",
        Decision.REPEAT,
    ),
    (
        "four-apart",
        "four firings range over more than 1.3 times the limit",
        "Sample {sample}: four firings range over {range} J/g; the limit for four is {limit} J/g.",
        "A person must look: mixing, pellets, the bag itself. The median is shown and not released.",
        Decision.HOLD,
    ),
    (
        "sample-not-judged",
        "a sample has no value that a verdict accepts, and no other finding on it says why",
        "Sample {sample} could not be judged.",
        "Settle the findings about the sheets that it stands on first.",
        Decision.HOLD,
    ),
    (
        "required-basis-missing",
        "a sample has no value on a required basis, and no other finding on it says why",
        "Sample {sample} has no value on the required basis {bases}.",
        "Settle the findings about Samples first, or leave the basis out of Bases required.",
        Decision.HOLD,
    ),
    (
        "more-than-four",
        "a sample has more than four usable firings",
        "Sample {sample}: {n} firings; the further-test rule ends at four.",
        "A person must look. The median is shown and not released.",
        Decision.HOLD,
    ),
)
