"""Findings that a person looks at and that never stop a release."""

from batchcal.findings.kinds import CAUTION, Severity, kinds

REVIEW = kinds(
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
        "{where}: {typed} eq/L is typed for {firings}, the standardisation of {date} gives {found} eq/L.",
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
        "more than half of the heat comes from aids and capsule",
        "{where}: of {firings}, {share} % of the heat comes from aids and capsule; scatter in the sample's value grows "
        "with it.",
        "Use less aid if the fuel burns without; judge the pair with this in mind.",
    ),
    (
        "capsule-taken-as-tared",
        "a capsule burnt, and it is not said whether the weighing of the empty crucible has it in it",
        "{where}: firing {firing} burnt a capsule of {capsule} g; the difference of the weighings is taken as the "
        "sample, as if both had the capsule in them.",
        "Enter Capsule in tare: yes, or no where the empty crucible was weighed without; then it is taken off.",
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
        "{where}: {firings}: {value} eq/L is an unusual strength for washings.",
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
        "a heat capacity typed on Setup is outside 3 to 30 kJ/K",
        "{apparatus}: a heat capacity of {value} J/K is unusual{hint}.",
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
        "No check firing was logged for {apparatus} on {dates}.",
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
)
