"""Findings about slips that the figures of a day give away: copies, exchanges, shifts, wrong numbers."""

from batchcal.findings.kinds import Kind, Severity, kinds
from batchcal.terms import Decision

_FOLLOW = frozenset({
    "pair-apart", "three-apart", "four-apart", "closest-two-used", "median-used", "gross-unfit", "mass-unfit",
    "rise-unfit", "mass-missing", "rise-missing", "firing-left-out", "single-firing", "no-good-firing",
    "sample-not-judged", "masses-exchanged", "apparatus-exchanged", "digits-exchanged", "aid-forgotten",
    "start-copied", "decimal-slip", "rise-beyond-series", "nitric-negative", "sulphur-disagrees",
})  # fmt: skip
"""What follows from a column that has slipped."""

_SLIPPED = (
    Kind(
        "row-shift",
        Severity.BLOCK,
        "Slips",
        "from some row down one column seems moved by a row: moving it back makes at least three comparisons agree",
        "{where}: from this row down, {heading} seems to stand one row too {way}: {before} of {total} comparisons "
        "disagree as it stands, {after} if it is moved back. Nothing was moved.",
        "Compare the column with the raw record from this row down, and move it back if the record says so.",
        Decision.HOLD,
        _FOLLOW,
    ),
    Kind(
        "rows-mixed",
        Severity.BLOCK,
        "Slips",
        "most comparisons of a sheet are far apart at once",
        "{where}: {before} of {total} comparisons disagree, half of them by more than {median} J/g. No fuel scatters "
        "so: the columns of this sheet do not seem to belong together{hint}.",
        "Compare some rows with the raw record; a part of the sheet may have been sorted without the rest.",
        Decision.HOLD,
        _FOLLOW,
    ),
    Kind(
        "decimal-slip",
        Severity.BLOCK,
        "Slips",
        "a value is off its column by a power of ten",
        "{where}: firing {firing}: {heading} {read} is about {factor} times what stands in the other rows ({median}).",
        "Re-read the raw record: the decimal mark or the unit has slipped.",
        Decision.HOLD,
        frozenset(
            {
                "pair-apart",
                "three-apart",
                "four-apart",
                "gross-unfit",
                "mass-unfit",
                "rise-unfit",
                "single-firing",
                "firing-left-out",
                "no-good-firing",
                "rise-beyond-series",
            }
        ),
    ),
    Kind(
        "rows-alike",
        Severity.BLOCK,
        "Slips",
        "two firings share two or more of mass, start, end, rise and titre, and by the scatter and the steps of this "
        "log fewer than one pair in a hundred logs would",
        "{where}: firing {firing} and firing {other} ({place}) have the same {shared}. Going by the scatter "
        "of this log, honest firings hardly ever share that much.",
        "Compare both with the raw record: one may have been typed, or copied, twice.",
        Decision.HOLD,
        frozenset({"pair-apart", "three-apart", "start-copied", "masses-exchanged", "digits-exchanged"}),
    ),
)

_FIRM = kinds(
    Severity.BLOCK,
    "Slips",
    (
        "replicate-twice",
        "two firings of a sample that both count have the same replicate letter",
        "{where}: sample {sample} has the replicate {letter} in firings {firings}.",
        "Each determination needs a letter of its own. If one belongs to another sample, correct the Sample no.",
        Decision.HOLD,
    ),
)

_LOOK = kinds(
    Severity.REVIEW,
    "Slips",
    (
        "masses-exchanged",
        "two firings that disagree agree if their masses are exchanged",
        "{where}: the firings {firings} of sample {sample} are {gap} J/g apart, and {other} J/g if their masses are "
        "exchanged.",
        "Re-read the weighing record of both.",
    ),
    (
        "apparatus-exchanged",
        "two firings in different bombs agree if the heat capacity of one bomb is used for both",
        "{where}: the firings {firings} of sample {sample} are {gap} J/g apart, and {other} J/g if firing {firing} was "
        "made with {apparatus}.",
        "Look up which bomb it was.",
    ),
    (
        "bomb-out-of-turn",
        "two bombs are used in turn all day, but for one firing between two of its own bomb",
        "{where}: firing {firing} and those before and after it are all logged with bomb {bomb}; the rest of the "
        "day takes the two bombs in turn.",
        "Look up which bomb it was; with bomb {other} the turn would be whole.",
    ),
    (
        "start-copied",
        "the start of a firing equals a temperature of the firing before",
        "{where}: firing {firing} starts at {read} °C, the {which} of firing {other} before it.",
        "Compare with the raw record: the cell may have been copied.",
    ),
    (
        "aid-in-one-only",
        "only one of two firings that disagree has an aid",
        "{where}: of sample {sample} only firing {firing} has an aid ({aid}), and the two are {gap} J/g apart.",
        "Their difference tests the heat of the aid as well. Fire the next one with the same aid as {other}.",
    ),
    (
        "aid-forgotten",
        "a firing gives more heat than its pair by about one charge of an aid",
        "{where}: firing {firing} gives {excess} J more than firing {other} of the same sample: about {mass} g "
        "of {aid}.",
        "Look up whether an aid was used and not entered.",
    ),
    (
        "numbers-nearly-alike",
        "two firings without a pair agree, their sample numbers differ by one character, and one number is not listed "
        "or one sample has three firings and the other one",
        "{where}: firing {firing} of {sample} and firing {other} of {sample2} are {gap} J/g apart, and the two "
        "sample numbers differ by one character.",
        "Compare both numbers with the raw record: it may be one sample.",
    ),
    (
        "two-groups",
        "four or more firings of a sample fall into two groups that agree within themselves",
        "{where}: the firings of sample {sample} fall into two groups: {first} and {second}, {gap} J/g apart.",
        "Look up whether two samples stand under one number.",
    ),
)

_HINTS = kinds(
    Severity.NOTE,
    "Slips",
    (
        "digits-exchanged",
        "two firings are twelve limits apart or more and agree if two neighbouring digits of one figure are exchanged",
        "{where}: the firings {firings} of sample {sample} are {gap} J/g apart; they agree if {heading} of firing "
        "{firing} is {read} and not {typed}. A hint only.",
        "Re-read that figure in the raw record.",
    ),
)

SLIPS = (*_SLIPPED, *_FIRM, *_LOOK, *_HINTS)
