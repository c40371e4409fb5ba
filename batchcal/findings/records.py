"""Findings about the record of a day: times and dates, numbers, rows left over, tares and titres."""

from batchcal.findings.kinds import CAUTION, Kind, Severity, kinds
from batchcal.terms import Decision

_GROUP = "Record of the day"

_TITRES = frozenset(
    {"nitric-negative", "pair-apart", "three-apart", "four-apart", "firing-left-out", "single-firing", "no-good-firing"}
)
"""What follows from titres that have slipped."""

_STOP = (
    Kind(
        "date-swapped",
        Severity.BLOCK,
        _GROUP,
        "a date is out of order, and in order with day and month exchanged",
        "{where}: {read} does not fit the rows around it; {other} would. Day and month may be exchanged in {firings}.",
        "Type the date as year-month-day. Until then nothing is worked out with it.",
        Decision.HOLD,
    ),
    Kind(
        "time-impossible",
        Severity.BLOCK,
        _GROUP,
        "two firings in one bomb stand at the same minute of a day (block) or closer than Shortest firing interval",
        "{where}: firing {firing} at {time} stands {apart} firing {other} of {apparatus}; the shortest interval is "
        "{limit}.",
        "Compare time, date and bomb of both with the raw record.",
        Decision.HOLD,
    ),
    Kind(
        "result-without-inputs",
        Severity.BLOCK,
        _GROUP,
        "a row has results of your own sheet but neither weighings nor temperatures",
        "{where}: firing {firing} has results of your own sheet and neither weighings nor temperatures.",
        "Clear the row if it was left over, or enter what was weighed and read.",
        Decision.HOLD,
        frozenset({"apparatus-missing"}),
    ),
    Kind(
        "titre-shift",
        Severity.BLOCK,
        _GROUP,
        "from some row down the titres seem moved by a row: moved back, the nitric acid of the firings is alike",
        "{where}: from this row down, {heading} seems to stand one row too {way}: less the acid from the sulphur, "
        "{before} of {total} titres are out of line as they stand, {after} if they are moved back. Nothing was moved.",
        "Compare the titres with the raw record from this row down.",
        Decision.HOLD,
        _TITRES,
    ),
)

_SIGNATURE = kinds(
    Severity.BLOCK,
    _GROUP,
    (
        "reviewer-is-analyst",
        "Setup's Reviewer is the Analyst, or is named as Analyst of a firing",
        "{where}: {name} stands as Reviewer and as Analyst{firings}.",
        "A second authorised person must review and sign. The values are not touched by this.",
    ),
)

_SAFETY = kinds(
    Severity.SAFETY,
    _GROUP,
    (
        "misfire-followed-fast",
        "a bomb was fired again sooner after a misfire than Waiting time after misfire",
        "{where}: firing {firing} was made {minutes} min after the misfire {other} of {apparatus}; the waiting time "
        "entered is {limit} min.",
        "Find out whether the waiting time was kept and the times are right. " + CAUTION,
    ),
)

_LOOK = kinds(
    Severity.REVIEW,
    _GROUP,
    (
        "difference-rounded",
        "a net mass or a rise is typed more coarsely than what it is the difference of, over a whole column",
        "{where}: {heading} is typed to {step} in {count} of {total} rows, coarser than {of} beside it. The difference "
        "of these is used.",
        "Type it with all its digits, or leave the column blank: then it is worked out from the two.",
    ),
    (
        "times-not-of-firings",
        "more than three in ten firings of a bomb on a day stand too close to the one before",
        "{where}: {count} of {total} firings of {apparatus} on {date} stand less than {limit} after the one before. "
        "These can hardly be the times of firing.",
        "Enter under Time when each charge was fired, or leave it blank.",
    ),
    (
        "date-after-batch",
        "a firing is dated more than a day after the Batch date",
        "{where}: {firings} dated {date}, after the Batch date {batch}.",
        "Correct the date, or the Batch date on Setup.",
    ),
    (
        "misfire-run",
        "a bomb misfired twice or more in a row",
        "{where}: {apparatus} misfired {count} times in a row ({firings}).",
        "Have electrodes, wire contact and insulation checked before the next firing. " + CAUTION,
    ),
    (
        "firing-number-gap",
        "numbers are missing in a run of firing numbers",
        "{where}: {missing} missing among the firing numbers of this sheet.",
        "Enter each firing, also a misfire, a trial or one set aside, or say in Remark why the number was not used.",
    ),
    (
        "row-left-over",
        "a row is dated more than a day before the Batch date while most rows are of that day",
        "{where}: firing {firing} is dated {date}; most rows are of {batch}.",
        "Clear the row if it was left over from another day.",
    ),
    (
        "moisture-other-day",
        "analysis moisture and firing are further apart than Moisture gap limit",
        "{where}: {what};{worth} the limit is {limit}.",
        "Determine the moisture again from the kept sample, on the day on which it is fired.",
    ),
    (
        "set-aside-for-disagreement",
        "a good and complete firing is set aside and its Reason speaks only of disagreement",
        "{where}: firing {firing} is set aside because of '{why}'. That it disagrees is no technical cause.",
        "Use it again unless a cause is found: it belongs to the comparison and to the further-test rule.",
    ),
    (
        "tare-strange",
        "a crucible's tare is more than 5 mg off its other tares",
        "{where}: firing {firing}: crucible {crucible} weighed {read} g; its other tares lie at {usual} g{hint}.",
        "Compare with the weighing record: which crucible was it?",
    ),
    (
        "tare-of-another-crucible",
        "two firings that disagree agree with the usual tare of another crucible in one of them",
        "{where}: the firings {firings} of sample {sample} are {gap} J/g apart, and {other} J/g if the empty "
        "crucible of firing {firing} weighs {usual} g, as in {count} other rows, and not {read} g.",
        "Compare with the weighing record: which crucible was it?",
    ),
    (
        "capsule-not-subtracted",
        "two firings that disagree agree if the capsule is taken off the sample mass of one",
        "{where}: the firings {firings} of sample {sample} are {gap} J/g apart, and {other} J/g if the sample mass "
        "of firing {firing} holds its capsule ({capsule} g).",
        "Look up whether the capsule is in the sample mass of this firing.",
    ),
    (
        "concentration-slip",
        "the acid found says that a titrant's strength is about double or half of the true one",
        "{where}: {strength} eq/L, used for {firings}, seems {factor} the true strength: {why}.",
        "Is it in mol/L or eq/L, and is the bottle the right one? If the strength is right, look at the sulphur.",
    ),
    (
        "titre-out-of-band",
        "the nitric acid of a firing is more than five robust standard deviations and 0.3 mmol off the others', and "
        "off that of the sample's other portions or beyond what the nitrogen of the fuel can add",
        "{where}: firing {firing}: less the acid from the sulphur, the titre leaves {nitric} mmol of nitric acid; "
        "{usual}.",
        "Re-read the titre; washings lost, end point, or the sulphur of the sample?",
    ),
)

_NOTES = kinds(
    Severity.NOTE,
    _GROUP,
    (
        "mean-row-skipped",
        "a row of firings is labelled as a mean or a spread",
        "{where}: the row labelled '{label}' is not taken for a firing.",
        "Nothing to do.",
    ),
)

RECORDS = (*_SAFETY, *_STOP, *_SIGNATURE, *_LOOK, *_NOTES)
"""Findings about the record of a day."""
