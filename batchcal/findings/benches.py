"""Findings about what the other benches gave and what was typed on Setup, seen from the day as a whole.

None of them changes a value or a decision: each names what does not fit, and a person looks.
"""

from batchcal.findings.kinds import CAUTION, Severity, kinds

_DANGER = kinds(
    Severity.SAFETY,
    "Safety",
    (
        "chlorine-high",
        "the chlorine of a sample that was fired is above Setup's Chlorine limit",
        "{where}: sample {sample}: {found} % of chlorine as analysed; the limit entered is {limit} %.",
        "The washings corrode the bomb: look up whether it may be used for this fuel, and have it rinsed and "
        "inspected. " + CAUTION,
    ),
)

_COMPOSITION = kinds(
    Severity.REVIEW,
    "Other benches",
    (
        "moistures-near",
        "analysis moisture is higher than total moisture by no more than two determinations differ",
        "{where}: sample {sample}: total moisture {total} % lies below analysis moisture {analysis} %, within the "
        "{tolerance} % that two determinations may differ ({whence}). Both are used as they are.",
        "For a fuel that gains water in the air, or was dry when it came, this is as it should be; else determine the "
        "moisture again.",
    ),
    (
        "sum-over-hundred",
        "ash, moisture and volatile matter of a sample add up to more than 100 %",
        "{where}: sample {sample}: {terms} add up to {sum} % as analysed.",
        "One of them, or its basis, is wrong: compare with the record of the bench.",
    ),
    (
        "sum-off",
        "the full analysis of a sample adds up to less than 98 % or more than 102 %",
        "{where}: sample {sample}: {terms} add up to {sum} % as analysed.",
        "One of them, or its basis, is wrong: compare with the records of the benches, and look whether hydrogen and "
        "oxygen hold those of the moisture.",
    ),
    (
        "hydrogen-holds-moisture",
        "hydrogen said to be without that of the moisture fits, in four samples or more, only if that is taken off",
        "{where}: the hydrogen of {count} samples seems to hold that of the moisture, though the sheet says it does "
        "not: {evidence}. Net values {basis} (J/g) with the hydrogen as given and without that of the moisture: "
        "{nets}.",
        "Ask the bench how the hydrogen was found. If it holds that of the moisture, enter yes under Hydrogen "
        "includes moisture.",
    ),
    (
        "composition-disagrees",
        "the gross value differs by more than 5 % (8 % where the fuel is neither coal nor oil) from what the "
        "composition lets expect",
        "{where}: sample {sample}: {found} J/g dry was found and {expected} J/g is expected of the composition by the "
        "formula of Channiwala and Parikh (average error {error} %), {off} %{coal}. The formula is an estimate.",
        "Look at the basis of carbon, hydrogen, oxygen and ash and at the moisture; then at the weighings.",
    ),
    (
        "composition-disagrees-all",
        "the gross values of most samples differ from what their composition lets expect, all to one side",
        "{count} of {total} samples differ from what their composition lets expect by more than {limit} %, all to "
        "one side: found is {low} to {high} times what the formula of Channiwala and Parikh gives ({samples}).",
        "Look for what the samples have in common: heat capacity and its unit, basis and unit of the composition.",
    ),
    (
        "fuel-class-unusual",
        "the dry ash-free value is more than 10 % outside what is usual for the fuel class",
        "{where}: sample {sample}: {value} MJ/kg dry ash-free is unusual for {fuel}; {low} to {high} MJ/kg is "
        "usual (from memory, unchecked).",
        "Wrong bag, class, basis, moisture or ash? Release it if none of them is wrong.",
    ),
    (
        "oxygen-too-little",
        "a firing used more than a third of the oxygen in the bomb",
        "{where}: {firings} gave {heat} kJ, which takes about {share} % of the oxygen in {volume} mL at "
        "{pressure} MPa (13.1 kJ per gram of oxygen; from memory, unchecked). Complete burning is doubtful.",
        "Look for soot. Fire less of this fuel; never fill above the limit of the equipment's instructions.",
    ),
)

_TYPED = kinds(
    Severity.REVIEW,
    "Setup",
    (
        "heat-unusual",
        "a heat of wire, thread, ignition, aid or capsule on Setup is outside what such heats are",
        "{where}, {item}: {read} is unusual; {low} to {high} {unit} is usual{hint}.",
        "Check the value and its unit against the source.",
    ),
    (
        "benzoic-value-suspect",
        "the benzoic acid value differs by more than 0.1 % from the known one of its mass basis",
        "{where}: {value} J/g ({basis}) is {off} % off the {known} J/g of this basis that is known of benzoic acid. "
        "Every result follows it.",
        "Compare with the certificate of the lot in use: is it that of an earlier lot, or a slip of digits?",
    ),
    (
        "benzoic-lot-differs",
        "the Source of the benzoic acid value names one lot, and remarks on benzoic acid firings another",
        "{where}: the value comes from '{source}', and the remarks of {count} benzoic acid firings name lot {lot} "
        "(firings {firings}).",
        "Enter the value of the certificate of the lot that was fired.",
    ),
    (
        "calorie-definition-suspect",
        "a benzoic acid value in calories, or ten checks or more, are off by the factor between two calories",
        "{where}: {what}. That is the factor between calories of {one} J ({one_kind}) and {other} J ({other_kind}).",
        "Look up which calorie the certificate and the heat capacity are in, and enter that as the Calorie.",
    ),
    (
        "series-steps-alike",
        "the heat capacities of two or more apparatus moved by the same percentage from one series to the next",
        "{apparatus} moved by {step} % alike from one series to the next ({each}). What they have in common has "
        "changed, hardly the calorimeters.",
        "Look at the lot of benzoic acid and its certificate value, at the balance, and at the thermometer if they "
        "share it. All series are worked out with one benzoic acid value.",
    ),
)

_NOTED = kinds(
    Severity.NOTE,
    "Other benches",
    (
        "hydrogen-same",
        "more than three samples of different fuels have the same hydrogen to the last digit",
        "{where}: {what}.",
        "If it is a value taken as usual and not measured, say so on the report: net values rest on it.",
    ),
)

BENCHES = (*_DANGER, *_COMPOSITION, *_TYPED, *_NOTED)
