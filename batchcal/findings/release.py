"""Findings about the release of results: signatures that do not count, and released values that changed."""

from batchcal.findings.kinds import Severity, kinds

RELEASE = kinds(
    Severity.BLOCK,
    "Release",
    (
        "release-unfit",
        "a row of Amendments releases without a date or a reviewer, or the reviewer is the analyst of the firings",
        "{where}: the release does not count: {why}. The results stay a draft.",
        "A release needs a reviewer by name who made no firing of the day, and the date of signing; under Sample no. "
        "the sample, or nothing for every sample.",
    ),
    (
        "release-too-early",
        "a row of Amendments releases what a finding still holds or what is not ready",
        "{where}: {reviewer} released {what} on {date} although {why}. It stays a draft.",
        "Settle what stands in the way, review again, and sign with the date of that day. To release only samples "
        "that are ready, name them, one row each.",
    ),
    (
        "released-then-changed",
        "a value that was released is another now, or its sample is not released any more, without a signed reason",
        "Sample {sample} was released with issue {issue} by {signed}: {changes}.",
        "Add a row `release` to Amendments with the reason, reviewer and date: it makes issue {next}, which says what "
        "changed. Tell whoever holds issue {issue}.",
    ),
    (
        "earlier-issue-unread",
        "the results file of an earlier set cannot be read, so that nobody can say whether it was released",
        "{why}. Whether results were released from it cannot be said; these stay a draft.",
        "Look up what was handed out. If nothing was, run again; else put the results file of that issue back first.",
    ),
)
"""Findings about the release of results."""
