"""Findings about samples: moistures, contents and bases."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

SAMPLES = kinds(
    Severity.BLOCK,
    "Samples and bases",
    (
        "sample-not-listed",
        "a fired sample does not stand on Samples",
        "Sample {sample} (firing {firing}) does not stand on Samples{hint}.",
        "Correct the Sample no., or list the sample.",
        Decision.HOLD,
    ),
    (
        "sample-listed-twice",
        "a sample number stands on Samples twice",
        "{where}: sample {sample} stands also in row {other}; neither row is used.",
        "Keep one row for each sample.",
        Decision.HOLD,
    ),
    (
        "percentage-unfit",
        "a percentage is below 0 or not below 100",
        "{where}, {heading}: {read} % is impossible.",
        "Check the value with the bench that gave it.",
        Decision.HOLD,
    ),
    (
        "moisture-missing",
        "analysis moisture is missing where the comparison or a required basis needs it",
        "Sample {sample}: analysis moisture is missing; {what} needs it.",
        "Determine it today from the same jar and enter it on Samples.",
        Decision.WAIT,
    ),
    (
        "total-moisture-missing",
        "total moisture is missing and as received is required",
        "Sample {sample}: total moisture is missing; the value as received needs it.",
        "Ask the moisture bench and enter it on Samples.",
        Decision.WAIT,
    ),
    (
        "net-missing",
        "net is required and cannot be worked out",
        "Sample {sample}: no value {bases}: {why}.",
        "Ask the bench for what is missing and enter it on Samples with its basis.",
        Decision.WAIT,
    ),
    (
        "ash-missing",
        "ash is missing and dry ash-free is required",
        "Sample {sample}: ash is missing; the dry ash-free value needs it.",
        "Ask the ash bench and enter it on Samples with its basis.",
        Decision.WAIT,
    ),
    (
        "basis-missing",
        "a content has no basis where one is needed",
        "{where}, {heading}: the basis of this value is not given.",
        "Choose ad, d, ar or daf in the Basis column; ask the bench that gave it.",
        Decision.HOLD,
    ),
    (
        "moistures-exchanged",
        "analysis moisture is higher than total moisture",
        "{where}: sample {sample}: analysis moisture {analysis} % exceeds total moisture {total} %.",
        "Are the two exchanged? Then the dry value is wrong as well. None as received is computed meanwhile.",
        Decision.HOLD,
    ),
    (
        "ash-and-moisture-over",
        "moisture and ash together leave nothing to burn",
        "{where}: sample {sample}: moisture {moisture} % and ash {ash} % leave nothing to burn.",
        "Check both values and the basis of the ash.",
        Decision.HOLD,
    ),
)
