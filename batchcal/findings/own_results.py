"""Findings about the results of the lab's own sheet, and about its formulas and rows.

The lab's own figures are only compared. Where they differ, the sheet and the result computed here cannot both be
released, so a person must decide.
"""

from msgspec.structs import replace

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

_GROUP = "Own results"
_SEEN = "{where}: {heading}, {cells}: {what}. {effect}."
_DECIDE = " Until the two agree a person must decide which of them is released."

_STOPPING = kinds(
    Severity.BLOCK,
    _GROUP,
    (
        "own-heat-capacity-other",
        "the lab's own results follow with another heat capacity than the one in force",
        _SEEN,
        "Put the heat capacity in force into your sheet, or correct the series here." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-anchor-lost",
        "the heat capacity behind the lab's own results moves from row to row or is a blank cell",
        _SEEN,
        "Fix the reference to the heat capacity in your formula (with $) and fill it down again." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-calorie",
        "the lab's own figures are off by the factor between two units or two calories",
        _SEEN,
        "Correct the unit in the heading, or the factor in your sheet, and name the calorie that is meant." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-acid-forgotten",
        "the lab's own results follow without the acid correction",
        _SEEN,
        "Take the acids off in your sheet, or set the Acid scheme that is meant." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-acid-twice",
        "the lab's own results follow with the acid taken off twice",
        _SEEN,
        "Take the nitric acid by one scheme only." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-sulphur-factor",
        "the lab's own results follow with the sulphur factor of the other acid scheme",
        _SEEN,
        "Factor and scheme belong together: correct the factor in your sheet, or the Acid scheme." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-basis-wrong",
        "the lab's own figure is the value on another basis, or the moisture factor is upside down",
        _SEEN,
        "Correct the heading or the formula; dry is as analysed x 100 / (100 - M)." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-mean-of-failing-set",
        "the lab's own mean is that of firings that fail the range test",
        "{where}: sample {sample}: the own mean {own} is that of all {n} firings, whose range of {range} J/g is over "
        "the limit of {limit} J/g.",
        "Follow the further-test rule before a mean is released.",
        Decision.HOLD,
    ),
    (
        "own-verdict-rounded",
        "the lab's own verdict is 'agree' although the unrounded values do not",
        "{where}: sample {sample}: rounded to {step} J/g the firings agree, unrounded ({values} J/g) they are {range} "
        "J/g apart; the limit is {limit} J/g.",
        "Compare unrounded and round only what is printed.",
        Decision.HOLD,
    ),
    (
        "own-net-kind",
        "the lab's own net value is the one at constant volume, or the gross value",
        "{where}: {cells}: the own net value is {kind}; at constant pressure it is {found}.",
        "Correct the heading or the formula." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-benzoic-value",
        "the lab's own heat capacities follow with another heat of combustion of benzoic acid",
        _SEEN,
        "Compare lot, certificate value and mass basis (vacuum or air) in your sheet and on Setup." + _DECIDE,
        Decision.HOLD,
    ),
    (
        "own-ignition-forgotten",
        "the lab's own results follow without the heat of ignition, or of the aid",
        _SEEN,
        "Take these heats off in your sheet." + _DECIDE,
        Decision.HOLD,
    ),
)

_REVIEWED = kinds(
    Severity.REVIEW,
    _GROUP,
    (
        "own-sulphur-basis",
        "the lab's own results follow with the dry sulphur taken for the one as analysed",
        _SEEN,
        "Bring the sulphur to as analysed before it is multiplied with the sample mass.",
    ),
    (
        "own-mean-leaves-out",
        "the lab's own mean leaves out a firing that is not set aside",
        "{where}: sample {sample}: the own mean {own} is that of {members}; without a reason it leaves out {left}.",
        "Set the firing aside with its technical reason, or take it into the mean.",
    ),
    (
        "own-result-differs",
        "a result of the lab's own sheet differs from the one computed here and nothing tried explains it",
        "{where}: {heading}: {own} stands in the sheet, {found} is found here{hint}.",
        "Work the row by hand (batchcal explain) and cure whichever is wrong.",
    ),
    (
        "formula-overtyped",
        "a number is typed where nearly all other rows of the column calculate",
        "{where}: {heading}: typed numbers stand where {count} rows calculate: {cells}.",
        "Put the formula back, or write down why the number was typed.",
    ),
    (
        "formula-odd",
        "a formula differs from those of like rows in its column",
        "{where}: {heading}: the formula differs from that of {count} other rows of its kind in {cells}.",
        "Compare it with the row above and fill the right one down.",
    ),
    (
        "row-hidden-or-struck",
        "a row with data is hidden, filtered out or struck through and not set aside",
        "{where}: {rows} {manner} and still counted.",
        "Show the rows, and put use or set aside into their Use column.",
    ),
    (
        "value-covered",
        "a value stands under a merged area, where nobody sees it",
        "{where}, {heading}: {read} stands under the merged area of {first}, where nobody sees it; it was read.",
        "Take the merging apart, and clear the cell if the value is not meant.",
    ),
)

OWN_RESULTS = (
    *(
        replace(kind, silences=frozenset({"own-mean-of-failing-set"})) if kind.code == "own-verdict-rounded" else kind
        for kind in _STOPPING
    ),
    *_REVIEWED,
)
