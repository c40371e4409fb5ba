"""The catalogue of findings: what can be wrong with a workbook or with the chemistry, in one place.

A finding is collected, located and worded with a remedy; it is never raised. Each kind has a code, a severity,
the trigger in words, a message that says what was seen and a remedy that says what to do. ``effect`` is the
decision that the kind forces on the samples it touches; a kind without effect never changes a decision.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from batchcal.terms import Decision

CAUTION = (
    "Follow the equipment's instructions and the local rules for oxygen and pressure, and ask the responsible "
    "trained person."
)


class Severity(StrEnum):
    """How much a finding matters; safety and block stop a release, review and note never do."""

    SAFETY = "safety"
    BLOCK = "block"
    REVIEW = "review"
    NOTE = "note"

    @property
    def stops(self) -> bool:
        """Whether a finding of this severity keeps the exit status from being 0."""
        return self in (Severity.SAFETY, Severity.BLOCK)

    @property
    def rank(self) -> int:
        """Position in the order in which findings are shown: safety first."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding."""

    code: str
    severity: Severity
    group: str
    trigger: str
    message: str
    remedy: str
    effect: Decision | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding: where it is, what was seen and what to do."""

    kind: Kind
    severity: Severity
    message: str
    remedy: str
    sheet: str | None = None
    row: int | None = None
    cell: str | None = None
    firing: str | None = None
    sample: str | None = None

    @property
    def code(self) -> str:
        """The kind's code."""
        return self.kind.code

    @property
    def effect(self) -> Decision | None:
        """Decision that this finding forces on the samples it touches; only one that stops has any."""
        return self.kind.effect if self.severity.stops else None

    @property
    def where(self) -> str:
        """Sheet and cell (or row) in words, or "" for a finding about the whole workbook."""
        if self.sheet is None:
            return ""
        if self.cell is not None:
            return f"{self.sheet}!{self.cell}"
        return self.sheet if self.row is None else f"{self.sheet} row {self.row}"


_CATALOGUE: dict[str, Kind] = {}


def _add(
    severity: Severity, group: str, *rows: tuple[str, str, str, str] | tuple[str, str, str, str, Decision]
) -> None:
    for row in rows:
        code, trigger, message, remedy = row[:4]
        effect = row[4] if len(row) > 4 else None
        if code in _CATALOGUE:
            raise ValueError(f"finding {code} is defined twice")
        _CATALOGUE[code] = Kind(code, severity, group, trigger, message, remedy, effect)


_HOLD, _WAIT, _REPEAT = Decision.HOLD, Decision.WAIT, Decision.REPEAT

_add(
    Severity.SAFETY,
    "Safety",
    (
        "charge-energy-over",
        "heat released is more than Setup's maximum charge energy",
        "Firing {firing}: {energy} kJ were released; the limit entered is {limit} kJ.",
        "Do not fire this fuel again at this mass; take {apparatus} out of use until it has been looked at. " + CAUTION,
        _HOLD,
    ),
    (
        "charge-mass-over",
        "sample and aids together are heavier than Setup's maximum sample mass",
        "Firing {firing}: {mass} g of sample and aids; the limit entered is {limit} g.",
        "Do not fire this mass again. " + CAUTION,
        _HOLD,
    ),
    (
        "oxygen-pressure-over",
        "oxygen pressure is above Setup's maximum",
        "Firing {firing}: filled to {pressure} MPa; the limit entered is {limit} MPa.",
        "Take {apparatus} out of use until the responsible person decides; have gauge and regulator checked. "
        + CAUTION,
        _HOLD,
    ),
    (
        "leak-logged",
        "the outcome of a firing is leak",
        "Firing {firing}: a leak is logged for {apparatus}.",
        "Do not use this bomb until seals and valve have been checked. " + CAUTION,
    ),
)

_add(
    Severity.BLOCK,
    "Reading",
    (
        "number-as-text",
        "a number column holds a number typed as text",
        "{where}, {heading}: the text '{read}' stands where a number is needed.",
        "Type {read} again as a number (format the cell as a number first). Nothing was assumed.",
        _HOLD,
    ),
    (
        "decimal-comma",
        "a number column holds text with a comma, which may mark decimals or thousands",
        "{where}, {heading}: '{read}' is text with a comma: decimals or thousands?",
        "Type the number again with the decimal mark of your spreadsheet program, so that it aligns right.",
        _HOLD,
    ),
    (
        "stray-unit",
        "a number column holds a number with a unit behind it",
        "{where}, {heading}: '{read}' has a unit or other text behind the number.",
        "Type the number alone; the unit belongs in the heading or in the Unit column.",
        _HOLD,
    ),
    (
        "text-in-number",
        "a number column holds text",
        "{where}, {heading}: '{read}' is not a number.",
        "Type the number, or leave the cell blank and put the word in Remark.",
        _HOLD,
    ),
    (
        "error-cell",
        "a cell shows a spreadsheet error",
        "{where}, {heading}: the cell shows {read}.",
        "Cure the formula or the cell it refers to, recalculate and save.",
        _HOLD,
    ),
    (
        "date-in-number",
        "a number column holds a date or a time",
        "{where}, {heading}: the cell holds the date or time {read}.",
        "The spreadsheet program may have turned a typed number into a date: format the cell as a number and "
        "type it again.",
        _HOLD,
    ),
    (
        "per-cent-format",
        "a number stands in a cell that is formatted as per cent, so that it shows a hundred times what it stores",
        "{where}, {heading}: the cell shows {shown} and stores {read}.",
        "Format the cell as a plain number and type the figure in the unit of its heading or Unit column.",
        _HOLD,
    ),
    (
        "yes-no-in-number",
        "a number column holds TRUE or FALSE",
        "{where}, {heading}: the cell holds {read}, not a number.",
        "Type the number, or clear the cell.",
        _HOLD,
    ),
    (
        "number-beyond-reach",
        "a number is not finite",
        "{where}, {heading}: {read} is beyond any number that can be worked with.",
        "Type the number again.",
        _HOLD,
    ),
    (
        "formula-without-value",
        "a formula has no stored value",
        "{where}, {heading}: the formula has never been calculated, so there is no value to read.",
        "Open the workbook in a spreadsheet program, recalculate, save, and run again.",
        _HOLD,
    ),
    (
        "identifier-as-date",
        "an id column holds a date",
        "{where}, {heading}: the spreadsheet program turned what was typed into the date {read}.",
        "Format the column as text and type the number or name again.",
        _HOLD,
    ),
    (
        "identifier-unreadable",
        "an id column holds TRUE, FALSE or a number with decimals or of more than 15 digits",
        "{where}, {heading}: {read} cannot be taken as a name without guessing.",
        "Format the column as text and type the number or name again.",
        _HOLD,
    ),
    (
        "word-not-in-list",
        "a cell holds a word that is not in its list",
        "{where}, {heading}: '{read}' is none of: {choices}.",
        "Choose one of these words, or leave the cell blank where that is allowed.",
        _HOLD,
    ),
    (
        "date-unreadable",
        "a date column holds something that is not a date",
        "{where}, {heading}: '{read}' is not stored as a date.",
        "Type the date again so that the program takes it as one (year-month-day is always understood).",
        _HOLD,
    ),
    (
        "heading-unit-unknown",
        "a heading names a unit that is not read, or none where there is a choice",
        "{where}: the heading '{read}' {problem}.",
        "Put one of these units into the heading, in brackets: {choices}.",
        _HOLD,
    ),
    (
        "heading-twice",
        "two columns of a sheet have the same meaning",
        "{where}: '{read}' means the same as column {other}; neither is read.",
        "Keep one of the two columns under this heading and rename the other.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Setup",
    (
        "setup-item-twice",
        "an item stands on Setup twice",
        "{where}: '{item}' stands here and in row {other}; neither is used.",
        "Keep the row that is in force.",
        _HOLD,
    ),
    (
        "setup-unit-unknown",
        "the unit of a Setup item is blank or not one that is read",
        "{where}, {item}: {problem}.",
        "Enter one of: {choices}.",
        _HOLD,
    ),
    (
        "setup-number-unfit",
        "a Setup number is zero, negative or outside what the quantity can be",
        "{where}, {item}: {read} cannot be right ({reason}).",
        "Check the value and its unit against the source.",
        _HOLD,
    ),
    (
        "setup-text-unfit",
        "a Setup item needs a number or a word of its list, and holds something else",
        "{where}, {item}: '{read}' is not {wanted}.",
        "Enter {wanted}.",
        _HOLD,
    ),
    (
        "calorie-missing",
        "a unit with calories is used and the Calorie item is blank",
        "{where}, {item}: the unit {unit} means nothing until the kind of calorie is named.",
        "Enter the Calorie item: international, thermochemical, 15 °C, 20 °C, or its joules as a number.",
        _HOLD,
    ),
    (
        "method-unknown",
        "Setup's Method is blank or not a key",
        "{where}: no method is named that this program knows ({read}).",
        "Enter one of: {choices}.",
        _HOLD,
    ),
    (
        "method-figure-unconfirmed",
        "a Setup value is `method` but the Source is blank",
        "{where}, {item}: 'method' is entered without a Source.",
        "Enter in Source where your own copy of the method gives this figure; that confirms it.",
        _HOLD,
    ),
    (
        "method-has-no-figure",
        "a Setup value is `method` but this program holds no figure for it",
        "{where}, {item}: no figure of {method} is on record here.",
        "Enter the number from your own copy of the method, with its Source.",
        _HOLD,
    ),
    (
        "acid-scheme-missing",
        "Acid scheme is blank or not in the list",
        "No acid scheme is set, so the acid heats cannot be found.",
        "Enter the Acid scheme on Setup: {choices}.",
        _HOLD,
    ),
    (
        "acid-heat-missing",
        "the acid scheme needs an acid heat that Setup does not give",
        "The scheme '{scheme}' needs {item} ({unit}), which Setup does not give.",
        "Enter {item} in {unit} with its Source.",
        _HOLD,
    ),
    (
        "acid-heat-unit",
        "an acid heat is given in a unit that belongs to another acid scheme",
        "{where}, {item}: {read} belongs to another scheme than '{scheme}'.",
        "Enter it in {unit}; a factor per mL or per cent is never joined to a scheme.",
        _HOLD,
    ),
    (
        "ignition-given-twice",
        "both a fixed ignition heat and a wire or thread heat stand on Setup",
        "Setup gives a fixed ignition heat and a heat of {other} as well; only one of the two can be meant.",
        "Keep the fixed heat, or the wire and thread heats.",
        _HOLD,
    ),
    (
        "repeatability-limit-missing",
        "Repeatability limit is blank",
        "No repeatability limit is in force, so no pair can be judged.",
        "Enter your own limit with its Source on Setup, or `method` with a Source to confirm the method's.",
        _HOLD,
    ),
    (
        "comparison-basis-missing",
        "Comparison basis is blank",
        "No comparison basis is set, so replicates cannot be compared.",
        "Enter ad or d as the Comparison basis on Setup.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Firing",
    (
        "firing-number-missing",
        "a row with data has no firing number",
        "{where}: the row has data but no firing number.",
        "Give the firing its number; numbers are never used again.",
        _HOLD,
    ),
    (
        "firing-number-twice",
        "two rows have the same firing number",
        "{where}: firing {firing} stands also at {other}; neither is computed.",
        "Correct the wrong number; a titre is joined by this number and cannot be shared.",
        _HOLD,
    ),
    (
        "purpose-missing",
        "Purpose is blank and cannot be taken from the sheet",
        "{where}: firing {firing} has neither a purpose nor a sample number.",
        "Enter the Purpose or the Sample no.",
        _HOLD,
    ),
    (
        "sample-number-missing",
        "a sample firing has no sample number",
        "{where}: firing {firing} is a sample firing without a sample number.",
        "Enter the Sample no.",
        _HOLD,
    ),
    (
        "apparatus-missing",
        "Calorimeter or Bomb is blank in some rows only",
        "{where}: {heading} is blank for firing {firing} though other rows name one.",
        "Enter it; the heat capacity is looked up by it.",
        _HOLD,
    ),
    (
        "date-missing",
        "a computed firing has no date and Setup has no Batch date",
        "{where}: firing {firing} has no date{hint}.",
        "Enter the Date; the heat capacity in force is found by it.",
        _HOLD,
    ),
    (
        "set-aside-without-reason",
        "Use is set aside and Reason is blank",
        "{where}: firing {firing} is set aside without a reason.",
        "Enter the technical cause (not that it disagreed), or set Use back to use.",
        _HOLD,
    ),
    (
        "mass-missing",
        "a computed firing has no mass",
        "{where}: firing {firing} has no {what}.",
        "Enter Sample mass, or Crucible and Crucible + sample.",
        _HOLD,
    ),
    (
        "mass-disagrees",
        "typed mass and difference of weighings are more than 0.15 mg apart",
        "{where}: firing {firing}: the weighings give {difference} g, typed is {typed} g.",
        "Re-read the weighing record and correct whichever was mistyped.",
        _HOLD,
    ),
    (
        "mass-unfit",
        "a mass is not above zero, or outside what a bomb is charged with",
        "{where}: firing {firing}: a mass of {mass} g cannot be right ({reason}).",
        "Re-read the weighing record: tare, gross mass, decimal mark and unit.",
        _HOLD,
    ),
    (
        "rise-missing",
        "a computed firing has no temperature rise",
        "{where}: firing {firing} has no {what}.",
        "Re-read the log. If the charge did not light, set Outcome to misfire.",
        _HOLD,
    ),
    (
        "rise-disagrees",
        "typed rise and end less start differ by more than one reading step",
        "{where}: firing {firing}: end less start is {difference} K, typed is {typed} K.",
        "Re-read the log and correct whichever was mistyped.",
        _HOLD,
    ),
    (
        "rise-unfit",
        "a rise is not above zero, or outside what a calorimeter shows",
        "{where}: firing {firing}: a rise of {rise} K cannot be right ({reason}).",
        "Re-read start and end. If the charge did not light, set Outcome to misfire.",
        _HOLD,
    ),
    (
        "amount-negative",
        "an amount is below zero",
        "{where}, {heading}: {read} is below zero.",
        "Re-read the record and type the amount again.",
        _HOLD,
    ),
    (
        "wire-left-missing",
        "wire fitted is logged and wire left is not, or the other way round",
        "{where}: firing {firing}: {given} is logged, {missing} is not.",
        "Measure or re-read the piece; type 0 where all of it burnt.",
        _HOLD,
    ),
    (
        "wire-left-more",
        "more wire is left than was fitted",
        "{where}: firing {firing}: {left} cm of wire left of {fitted} cm fitted.",
        "One of the two may be in mm, or they are exchanged; re-read the record.",
        _HOLD,
    ),
    (
        "wire-heat-missing",
        "wire or thread was burnt and Setup has no heat for it in a unit that fits",
        "{where}: firing {firing} burnt {what}, and Setup gives no heat {per}.",
        "Enter {item} with its unit and Source.",
        _HOLD,
    ),
    (
        "ignition-missing",
        "a computed firing has neither wire, thread nor a fixed ignition heat",
        "{where}: firing {firing} has no wire, no thread, and Setup has no fixed ignition heat.",
        "Enter what was burnt (0 is an amount), or the lab's fixed ignition heat with its Source.",
        _HOLD,
    ),
    (
        "aid-incomplete",
        "an aid is named without a mass, or a mass has no name",
        "{where}: firing {firing}: {given} is given, {missing} is not.",
        "Enter both, or clear both where no aid was used.",
        _HOLD,
    ),
    (
        "aid-heat-missing",
        "an aid or capsule was burnt and Setup has no heat for it",
        "{where}: firing {firing} burnt {what}, and Setup gives no {item}.",
        "Enter {item} with its unit and Source.",
        _HOLD,
    ),
    (
        "aid-too-few",
        "an aid's heat is used from fewer than three aid firings",
        "Aid {aid}: {n} aid firings; at least {fewest} make its heat.",
        "Fire the aid with benzoic acid until there are {fewest}, or enter Aid heat [{aid}] with its Source.",
        _HOLD,
    ),
    (
        "capsule-unclear",
        "a capsule was burnt and Setup gives several capsule heats",
        "{where}: firing {firing} burnt a capsule, and Setup gives heats for {choices}.",
        "Keep on Setup the heat of the capsules in use for this workbook.",
        _HOLD,
    ),
    (
        "gross-unfit",
        "a calorific value comes out at or below zero, or above any fuel's without much hydrogen",
        "{where}: firing {firing} comes out at {value} J/g, which no fuel fired here can have.",
        "Re-read mass, rise and aid; check the unit of the heat capacity.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Readings",
    (
        "heat-exchange-method-missing",
        "time readings are logged and Heat-exchange method is blank",
        "{where}: firing {firing} has time readings, and Setup names no heat-exchange method.",
        "Enter the Heat-exchange method on Setup: two rates, six tenths or none.",
        _HOLD,
    ),
    (
        "curve-reading-missing",
        "a row of Readings has a time without a temperature, or the other way round",
        "{where}: firing {firing}: a time or a temperature is missing.",
        "Complete the reading from the record; no correction is computed meanwhile.",
        _HOLD,
    ),
    (
        "curve-order",
        "the times of a firing's readings do not rise",
        "{where}: firing {firing}: the reading at {time} min stands after the one at {before} min.",
        "Put the readings in the order of time, or correct the time.",
        _HOLD,
    ),
    (
        "curve-gap",
        "an interval between readings is more than 1.5 times the longer of the two beside it",
        "{where}: firing {firing}: no reading between {start} and {end} min.",
        "Complete the readings from the record; no correction is computed meanwhile.",
        _HOLD,
    ),
    (
        "curve-too-short",
        "a fore or after period has fewer readings than a rate of change needs",
        "{where}: firing {firing}: the {period} period has {n} readings; {fewest} are needed.",
        "Complete the readings, or name the periods in the Period column if they were found wrongly.",
        _HOLD,
    ),
    (
        "curve-periods-unclear",
        "fore, main and after period cannot be told apart",
        "{where}: firing {firing}: fore, main and after period cannot be told from the readings.",
        "Name the periods in the Period column: fore up to firing, then main, then after.",
        _HOLD,
    ),
    (
        "curve-reading-off",
        "one reading lies far off the line through the others of its period",
        "{where}: firing {firing}: {read} °C at {time} min; the others of the period lead to {line} °C.",
        "Re-read the record; a digit may be wrong. No correction is computed meanwhile.",
        _HOLD,
    ),
    (
        "curve-disagrees",
        "a typed rise or correction differs from the one that the readings give",
        "{where}: firing {firing}: the readings give {what} {curve} K, typed is {typed} K.",
        "Clear the typed figure, or correct the readings.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Titration",
    (
        "titration-twice",
        "a firing has two rows on Titration",
        "{where}: firing {firing} has a second titration at {other}; neither is used.",
        "Keep the titration that stands; washings of two firings are never titrated together.",
        _HOLD,
    ),
    (
        "titre-missing",
        "the acid scheme needs a titre and there is none",
        "Firing {firing}: the washings have no titre, and the scheme '{scheme}' needs one.",
        "If the washings were kept, titrate them now and enter the titre; else repeat the firing.",
        _HOLD,
    ),
    (
        "titre-unfit",
        "a titre is below its blank, or the burette was read backwards",
        "{where}: firing {firing}: {problem}.",
        "Re-read the burette record; titrate again if the washings were kept.",
        _HOLD,
    ),
    (
        "titre-disagrees",
        "typed titre and burette readings are more than 0.02 mL apart",
        "{where}: firing {firing}: the burette readings give {difference} mL, typed is {typed} mL.",
        "Re-read the burette record and correct whichever was mistyped.",
        _HOLD,
    ),
    (
        "titrant-incomplete",
        "titrant, concentration or its unit is missing",
        "{where}: firing {firing}: {missing} is missing.",
        "Enter it. For sodium carbonate mol/L and eq/L differ by a factor of two.",
        _HOLD,
    ),
    (
        "second-titre-missing",
        "the scheme two titrations lacks a volume or a strength",
        "{where}: firing {firing}: the scheme 'two titrations' lacks {missing}.",
        "Enter it from the titration record; if the washings were poured away, repeat the firing.",
        _HOLD,
    ),
    (
        "two-titrations-inconsistent",
        "the two titrations give a negative amount of an acid",
        "{where}: firing {firing}: the titrations give {nitric} mmol nitric and {sulphuric} mmol sulphuric acid.",
        "Re-read all volumes and strengths; titrate again if the washings were kept.",
        _HOLD,
    ),
    (
        "titrant-portion-unfit",
        "a portion on Titrant is incomplete or cannot be right",
        "{where}: {problem}; no strength is made of this standardisation.",
        "Complete the portion from the record, or clear the row.",
    ),
    (
        "nitric-negative",
        "the sulphur alone gives more acid than was titrated",
        "{where}: firing {firing}: {total} mmol of acid were titrated, but {sulphur} % sulphur alone makes "
        "{needed} mmol.",
        "Check the sulphur and its basis, the titre and the titrant's strength. No acid heat was computed.",
        _HOLD,
    ),
    (
        "sulphur-missing",
        "the acid scheme needs the sulphur of a sample and there is none",
        "Sample {sample}: the scheme '{scheme}' needs its sulphur, which is not given.",
        "Ask the sulphur bench and enter it on Samples with its basis.",
        _WAIT,
    ),
    (
        "content-basis-open",
        "a content that is needed is given on a basis that cannot be turned into as analysed",
        "Sample {sample}: {content} is given {basis}, and {missing} to turn it into as analysed.",
        "Enter what is missing, or give the content as analysed.",
        _WAIT,
    ),
)

_add(
    Severity.BLOCK,
    "Heat capacity",
    (
        "benzoic-heat-missing",
        "benzoic acid is fired and its certificate value or mass basis is blank",
        "Setup does not give the {what} of the benzoic acid, so no heat capacity and no check can be computed.",
        "Enter it from the certificate of the lot in use.",
        _HOLD,
    ),
    (
        "certificate-conditions-missing",
        "the certificate value is to be corrected to the conditions, and one of them is missing",
        "{where}: firing {firing}: to correct the certificate value to the conditions {missing} is missing.",
        "Enter it, or set Certificate conditions to as certified.",
        _HOLD,
    ),
    (
        "heat-capacity-missing",
        "no heat capacity is dated on or before a firing for its calorimeter and bomb",
        "No heat capacity of {apparatus} is in force on {date} (firings {firings}).",
        "Fire a benzoic acid series and log it on Calibration, or correct the calorimeter, the bomb or the date.",
        _HOLD,
    ),
    (
        "heat-capacity-twice",
        "Setup gives a heat capacity for a calorimeter and bomb that has a series as well",
        "{where}: Setup gives {value} J/K for {apparatus}, and Calibration has a series ({series} J/K).",
        "Clear the one that is not in force. The firings are computed with the series, as provisional.",
        _HOLD,
    ),
    (
        "heat-capacity-incomplete",
        "a heat capacity on Setup has no source or no date",
        "{where}: the heat capacity of {apparatus} has no {missing}.",
        "Enter where it comes from and from when it is in force; until then results with it are provisional.",
        _HOLD,
    ),
    (
        "series-undated",
        "a used firing of a series has no date",
        "{where}: firing {firing} of the series has no date, so the series cannot be put in force.",
        "Enter the Date of the firing.",
        _HOLD,
    ),
    (
        "series-limit-missing",
        "Series minimum, Series relative SD limit or Heat-capacity life is blank",
        "Setup gives no {items}, so the heat capacity of {apparatus} cannot be judged.",
        "Enter your own figure with its Source, or `method` with a Source to confirm the method's.",
        _HOLD,
    ),
    (
        "series-expired",
        "the heat capacity is older than Heat-capacity life at the firing",
        "The heat capacity of {apparatus}, of {date}, expired on {expires}; it is used on {used}.",
        "Fire a new benzoic acid series; results that rest on this one wait for it.",
        _WAIT,
    ),
    (
        "series-too-few",
        "a series has fewer used firings than Series minimum",
        "The series of {apparatus} has {n} used firings; {minimum} are needed.",
        "Fire the missing benzoic acid charges; results that rest on this series wait for them.",
        _WAIT,
    ),
    (
        "series-too-scattered",
        "the relative SD of a series is above Series relative SD limit",
        "The series of {apparatus} scatters by {rsd} %; the limit is {limit} %.",
        "Look for the cause (soot, leak, water, stirrer, a misread start) and fire the series again.",
        _WAIT,
    ),
    (
        "check-out",
        "a check firing deviates from the certificate by more than Check limit",
        "Check firing {firing} on {apparatus}: {found} J/g, {recovery} % of the certificate; off by {off}, the "
        "limit is {limit}.",
        "Before any sample: re-read wire, acid and mass; look at the water and for soot; fire a second check. If "
        "that is out as well, a new series is due. Set the first aside only once its technical cause is known.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Agreement",
    (
        "no-good-firing",
        "a sample has no firing that can be used",
        "Sample {sample}: none of its {count} firings can be used.",
        "Fire two portions.",
        _REPEAT,
    ),
    (
        "single-firing",
        "a sample has one usable firing",
        "Sample {sample}: one usable firing ({firing}); two are needed.",
        "Fire a second portion tonight.",
        _REPEAT,
    ),
    (
        "pair-apart",
        "two firings differ by more than the limit",
        "Sample {sample}: firings {firings} are {range} J/g apart; the limit is {limit} J/g ({over} J/g over).",
        "First re-read the raw records and the kept washings; if nothing is found fire a third portion. "
        "Three are accepted within {next} J/g.",
        _REPEAT,
    ),
    (
        "three-apart",
        "three firings range over more than 1.2 times the limit",
        "Sample {sample}: three firings range over {range} J/g; the limit for three is {limit} J/g.",
        "Fire a fourth portion. Four are accepted within {next} J/g.",
        _REPEAT,
    ),
    (
        "four-apart",
        "four firings range over more than 1.3 times the limit",
        "Sample {sample}: four firings range over {range} J/g; the limit for four is {limit} J/g.",
        "A person must look: mixing, pellets, the bag itself. The median is shown and not released.",
        _HOLD,
    ),
    (
        "sample-not-judged",
        "a sample has no value that a verdict accepts, and no other finding on it says why",
        "Sample {sample} could not be judged.",
        "Settle the findings about the sheets that it stands on first.",
        _HOLD,
    ),
    (
        "required-basis-missing",
        "a sample has no value on a required basis, and no other finding on it says why",
        "Sample {sample} has no value on the required basis {bases}.",
        "Settle the findings about Samples first, or leave the basis out of Bases required.",
        _HOLD,
    ),
    (
        "more-than-four",
        "a sample has more than four usable firings",
        "Sample {sample}: {n} firings; the further-test rule ends at four.",
        "A person must look. The median is shown and not released.",
        _HOLD,
    ),
)

_add(
    Severity.BLOCK,
    "Samples and bases",
    (
        "sample-not-listed",
        "a fired sample does not stand on Samples",
        "Sample {sample} (firing {firing}) does not stand on Samples{hint}.",
        "Correct the Sample no., or list the sample.",
        _HOLD,
    ),
    (
        "sample-listed-twice",
        "a sample number stands on Samples twice",
        "{where}: sample {sample} stands also in row {other}; neither row is used.",
        "Keep one row for each sample.",
        _HOLD,
    ),
    (
        "percentage-unfit",
        "a percentage is below 0 or not below 100",
        "{where}, {heading}: {read} % is impossible.",
        "Check the value with the bench that gave it.",
        _HOLD,
    ),
    (
        "moisture-missing",
        "analysis moisture is missing where the comparison or a required basis needs it",
        "Sample {sample}: analysis moisture is missing; {what} needs it.",
        "Determine it today from the same jar and enter it on Samples.",
        _WAIT,
    ),
    (
        "total-moisture-missing",
        "total moisture is missing and as received is required",
        "Sample {sample}: total moisture is missing; the value as received needs it.",
        "Ask the moisture bench and enter it on Samples.",
        _WAIT,
    ),
    (
        "net-missing",
        "net is required and cannot be worked out",
        "Sample {sample}: no value {bases}: {why}.",
        "Ask the bench for what is missing and enter it on Samples with its basis.",
        _WAIT,
    ),
    (
        "ash-missing",
        "ash is missing and dry ash-free is required",
        "Sample {sample}: ash is missing; the dry ash-free value needs it.",
        "Ask the ash bench and enter it on Samples with its basis.",
        _WAIT,
    ),
    (
        "basis-missing",
        "a content has no basis where one is needed",
        "{where}, {heading}: the basis of this value is not given.",
        "Choose ad, d, ar or daf in the Basis column; ask the bench that gave it.",
        _HOLD,
    ),
    (
        "moistures-exchanged",
        "analysis moisture is higher than total moisture",
        "{where}: sample {sample}: analysis moisture {analysis} % exceeds total moisture {total} %.",
        "Are the two exchanged? Then the dry value is wrong as well. None as received is computed meanwhile.",
        _HOLD,
    ),
    (
        "ash-and-moisture-over",
        "moisture and ash together leave nothing to burn",
        "{where}: sample {sample}: moisture {moisture} % and ash {ash} % leave nothing to burn.",
        "Check both values and the basis of the ash.",
        _HOLD,
    ),
)

_add(
    Severity.REVIEW,
    "To look at",
    (
        "setup-item-blank",
        "a row of Setup has a value and no item",
        "{where}: the value {read} stands without an item and is not used.",
        "Enter the Item it belongs to, or clear the row.",
    ),
    (
        "setup-item-unknown",
        "an item on Setup is not one that is read",
        "{where}: '{item}' is not an item that is read{hint}.",
        "Correct the name, or move the row to a sheet of your own.",
    ),
    (
        "titration-without-firing",
        "a titration names a firing that is on no sheet",
        "{where}: there is no firing {firing} for this titration.",
        "Correct the firing number; the firing it belongs to may be short of its titre.",
    ),
    (
        "titrant-spread",
        "the portions of a standardisation range over more than Titrant spread limit",
        "{where}: {titrant} of {date}: the portions range over {spread} % of their mean; the limit is {limit} %.",
        "Standardise again.",
    ),
    (
        "titrant-old",
        "a strength is used after Titrant life",
        "{where}: the standardisation of {titrant} of {date} held until {last}.",
        "Standardise again; the titres stay valid once the strength is known.",
    ),
    (
        "titrant-differs",
        "a typed strength differs by more than 1 % from the newest standardisation",
        "{where}: {typed} eq/L is typed, the standardisation of {date} gives {found} eq/L.",
        "Clear the typed strength, or correct the standardisation.",
    ),
    (
        "sulphur-disagrees",
        "sulphur from the washings and from the bench differ by more than 0.15 % and 15 %",
        "{where}: firing {firing}: the washings give {washings} % sulphur, the bench {bench} %.",
        "Compare basis and titre with the sulphur bench; the washings' figure is used for the acid heat.",
    ),
    (
        "aid-share-high",
        "more than half of the heat comes from the aid",
        "Firing {firing}: {share} % of the heat comes from the aid; scatter in the sample's value grows with it.",
        "Use less aid if the fuel burns without; judge the pair with this in mind.",
    ),
    (
        "aid-heat-twice",
        "an aid's heat stands on Setup and is found from aid firings as well",
        "Aid {aid}: Setup gives {entered} J/g, {n} aid firings give {found} J/g; Setup's is used.",
        "Put the new figure on Setup with its Source, or clear Setup's so that the firings' is used.",
    ),
    (
        "curve-unsteady",
        "the readings of a fore or after period scatter about their line",
        "{where}: firing {firing}: the {period} period scatters by {scatter} K about its line.",
        "Stirrer, lid, or not yet settled? Repeat the firing if the correction matters.",
    ),
    (
        "reading-mode-differs",
        "a firing has time readings and the series of its heat capacity has none, or the other way round",
        "Firing {firing} was read {mode}; the series of its heat capacity was read {other}.",
        "Read tests as the calibration was read, or calibrate anew.",
    ),
    (
        "readings-without-firing",
        "readings name a firing that is on no sheet",
        "{where}: there is no firing {firing} for these readings.",
        "Correct the firing number.",
    ),
    (
        "concentration-unusual",
        "a titrant's strength is outside 0.02 to 0.5 eq/L",
        "{where}: firing {firing}: {value} eq/L is an unusual strength for washings.",
        "Check the strength and whether it is in mol/L or eq/L.",
    ),
    (
        "method-missing",
        "Setup names no method",
        "Setup names no method, so the page cannot say by which the results were found.",
        "Enter the Method on Setup, or give --method.",
    ),
    (
        "limit-basis-differs",
        "the method's limit holds on another basis than the comparison",
        "{method} gives its limit on the {limit_basis} basis; the comparison is {basis}.",
        "Compare on the basis of the limit, or enter the lab's own limit for this basis.",
    ),
    (
        "figure-from-memory",
        "a figure in use is from memory or in conflict between sources",
        "{item} = {value} {unit} is marked '{mark}'.",
        "Check it against your own copy of the source.",
    ),
    (
        "benzoic-basis-suspect",
        "the certificate value looks like one on the other mass basis",
        "{where}: {value} J/g with mass basis '{basis}' is unusual; about {usual} J/g is usual for {basis}.",
        "Check on the certificate whether its gram is mass in vacuum or as weighed in air.",
    ),
    (
        "certificate-conditions-outside",
        "a condition is outside what the correction of the certificate value holds for",
        "{where}: firing {firing}: outside the range of the correction to conditions: {outside}.",
        "Calibrate nearer to the certificate's conditions.",
    ),
    (
        "rise-beyond-series",
        "a rise lies outside the rises of the series whose line is used",
        "Firing {firing}: a rise of {rise} K lies outside the series' rises, {low} to {high} K; its line is extended.",
        "Weigh so that the rise lies within, or extend the calibration to it.",
    ),
    (
        "heat-capacity-unusual",
        "a heat capacity is outside 3 to 30 kJ/K",
        "{apparatus}: a heat capacity of {value} J/K is unusual.",
        "Check its unit; 2 390 cal/K is 10 000 J/K.",
    ),
    (
        "ignition-amounts-unused",
        "wire or thread is logged and the fixed ignition heat is used",
        "Wire or thread is logged on {count} firings; the fixed ignition heat of Setup is used for all.",
        "Clear the fixed heat and enter the wire and thread heats if those are meant.",
    ),
    (
        "check-missing",
        "no usable check firing covers the day's samples on a calorimeter and bomb",
        "No check firing was logged for {apparatus} on {date}.",
        "Fire benzoic acid as if it were a sample, and log it on Runs with Purpose check.",
    ),
    (
        "check-limit-missing",
        "a check was fired and Check limit is blank",
        "Check firing {firing} recovered {recovery} %, but Setup gives no Check limit to judge it by.",
        "Enter the Check limit with its Source.",
    ),
    (
        "residue-noted",
        "a residue is noted on a used firing",
        "{where}: firing {firing}: residue '{read}' is noted and the firing is used.",
        "If it burnt incompletely set Outcome to incomplete and repeat it with less sample or an aid.",
    ),
    (
        "closest-two-used",
        "a value rests on the closest two of three or four firings",
        "Sample {sample}: the closest two of {n} firings are reported. Their mean scatters about twice as much as "
        "the mean of three, and the lab looks more repeatable than it is.",
        "Prefer the range rule unless your method prescribes this one.",
    ),
    (
        "median-used",
        "a value is the median of firings that fail the range test",
        "Sample {sample}: the median of {n} firings is reported; they range over {range} J/g, beyond {limit} J/g.",
        "State on the report that it is a median.",
    ),
    (
        "oxygen-pressure-low",
        "oxygen pressure is below Setup's minimum",
        "Firing {firing}: filled to {pressure} MPa, below the minimum of {limit} MPa; burning may be incomplete.",
        "Look for soot; repeat the firing if there is any. " + CAUTION,
    ),
    (
        "oxygen-pressure-missing",
        "a pressure limit is set and a fired row has no pressure",
        "Firing {firing}: no oxygen pressure is logged, so the limit could not be checked.",
        "Enter the gauge reading.",
    ),
    (
        "oxygen-pressure-unit",
        "a pressure fits another unit better than the heading's",
        "{where}: firing {firing}: {pressure} MPa is more than any such bomb is filled with; is it in bar or kgf/cm²?",
        "Correct the unit in the heading so that the limits can be checked. " + CAUTION,
    ),
    (
        "safety-limit-missing",
        "a safety limit on Setup is blank",
        "Not entered on Setup, so not checked: {items}.",
        "Enter the limits from the equipment's instructions; none is assumed here.",
    ),
    (
        "sheet-part-not-carried",
        "the results workbook cannot carry something that stands in the workbook",
        "The results workbook does not carry these parts of yours: {parts}.",
        "They are untouched in your own workbook; keep it beside the results.",
    ),
)

_add(
    Severity.NOTE,
    "For information",
    (
        "firing-excluded",
        "the outcome or purpose of a firing keeps it out of the results",
        "Firing {firing} is not computed: {why}.",
        "Nothing to do; the row and its reason are kept.",
    ),
    (
        "firing-set-aside",
        "a firing is set aside with a reason",
        "Firing {firing} is set aside: {why}.",
        "Nothing to do; the row and its reason are kept.",
    ),
    (
        "no-acid-correction",
        "the acid scheme is none",
        "Sample {sample}: no correction for nitric and sulphuric acid was made (acid scheme none).",
        "Say so on the report.",
    ),
    (
        "aid-heat-found",
        "the heat of an aid was found from aid firings",
        "Aid {aid}: {found} J/g from {n} firings{spread}.",
        "Enter it on Setup as Aid heat [{aid}] with this batch as its Source, so that later days can use it.",
    ),
    (
        "titre-not-used",
        "titres are logged and the acid scheme does not use them",
        "{count} titrations are logged; the scheme '{scheme}' does not use them.",
        "Nothing to do; they are kept.",
    ),
    (
        "sample-without-firing",
        "a sample on Samples was not fired",
        "{where}: sample {sample} was not fired today.",
        "Nothing to do if it is planned for another day.",
    ),
    (
        "column-not-read",
        "a column's heading is not one that is read",
        "{where}: these columns are carried along and not read: {headings}.",
        "Nothing to do, unless one of them was meant to be read: compare its heading with the blank workbook.",
    ),
    (
        "resolution-worth",
        "one step of the temperature reading is worth more than a tenth of the limit",
        "One step of {step} K in the reading is worth {worth} J/g at {capacity} J/K and {mass} g; the "
        "repeatability limit is {limit} J/g.",
        "Read to a finer step if the thermometer allows it, or weigh more within the lab's limits.",
    ),
    (
        "net-not-computed",
        "a sample has no net calorific value",
        "No net value for {samples}: {why}.",
        "Enter the hydrogen with its basis on Samples where net values are wanted.",
    ),
    (
        "net-rests-on",
        "a net value rests on an assumption or an estimate",
        "Sample {sample}, net value: {notes}.",
        "State it on the report.",
    ),
)

CATALOGUE: dict[str, Kind] = dict(_CATALOGUE)
"""Every kind of finding by its code, in the order of the catalogue."""


def make(
    code: str,
    *,
    sheet: str | None = None,
    row: int | None = None,
    cell: str | None = None,
    firing: str | None = None,
    sample: str | None = None,
    severity: Severity | None = None,
    **details: Any,
) -> Finding:
    """Return a finding of kind ``code`` with its words filled in.

    ``severity`` lowers the kind's own where the doubtful cell takes no part in the computation; it never
    raises it. The location and the names of firing and sample are available to the wording; ``details`` are the
    other words of the kind's message and remedy.
    """
    kind = CATALOGUE[code]
    if severity is None:
        severity = kind.severity
    elif severity.rank < kind.severity.rank:
        raise ValueError(f"{code} cannot be raised to {severity}")
    where = f"{sheet}!{cell}" if cell else (f"{sheet} row {row}" if row else (sheet or "Workbook"))
    words = {"where": where, "firing": firing, "sample": sample, **details}
    return Finding(
        kind,
        severity,
        kind.message.format(**words),
        kind.remedy.format(**words),
        sheet,
        row,
        cell,
        firing or None,
        sample or None,
    )


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Return findings sorted for reading: most severe first, otherwise in the order in which they were made."""
    return tuple(sorted(findings, key=lambda finding: finding.severity.rank))
