"""Findings about Setup: what is missing or unfit for computing."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

SETUP = kinds(
    Severity.BLOCK,
    "Setup",
    (
        "setup-item-twice",
        "an item stands on Setup twice",
        "{where}: '{item}' stands here and in row {other}; neither is used.",
        "Keep the row that is in force.",
        Decision.HOLD,
    ),
    (
        "setup-unit-unknown",
        "the unit of a Setup item is blank or not one that is read",
        "{where}, {item}: {problem}.",
        "Enter one of: {choices}.",
        Decision.HOLD,
    ),
    (
        "setup-number-unfit",
        "a Setup number is zero, negative or outside what the quantity can be",
        "{where}, {item}: {read} cannot be right ({reason}).",
        "Check the value and its unit against the source.",
        Decision.HOLD,
    ),
    (
        "setup-text-unfit",
        "a Setup item needs a number or a word of its list, and holds something else",
        "{where}, {item}: '{read}' is not {wanted}.",
        "Enter {wanted}.",
        Decision.HOLD,
    ),
    (
        "calorie-missing",
        "a unit with calories is used and the Calorie item is blank",
        "{where}, {item}: the unit {unit} means nothing until the kind of calorie is named.",
        "Enter the Calorie item: international, thermochemical, 15 °C, 20 °C, or its joules as a number.",
        Decision.HOLD,
    ),
    (
        "method-unknown",
        "Setup's Method is blank or not a key",
        "{where}: no method is named that this program knows ({read}).",
        "Enter one of: {choices}.",
        Decision.HOLD,
    ),
    (
        "method-figure-unconfirmed",
        "a Setup value is `method` but the Source is blank",
        "{where}, {item}: 'method' is entered without a Source.",
        "Enter in Source where your own copy of the method gives this figure; that confirms it.",
        Decision.HOLD,
    ),
    (
        "method-has-no-figure",
        "a Setup value is `method` but this program holds no figure for it",
        "{where}, {item}: no figure of {method} is on record here.",
        "Enter the number from your own copy of the method, with its Source.",
        Decision.HOLD,
    ),
    (
        "acid-scheme-missing",
        "Acid scheme is blank or not in the list",
        "No acid scheme is set, so the acid heats cannot be found.",
        "Enter the Acid scheme on Setup: {choices}.",
        Decision.HOLD,
    ),
    (
        "acid-heat-missing",
        "the acid scheme needs an acid heat that Setup does not give",
        "The scheme '{scheme}' needs {item} ({unit}), which Setup does not give.",
        "Enter {item} in {unit} with its Source.",
        Decision.HOLD,
    ),
    (
        "acid-heat-unit",
        "an acid heat is given in a unit that belongs to another acid scheme",
        "{where}, {item}: {read} belongs to another scheme than '{scheme}'.",
        "Enter it in {unit}; a factor per mL or per cent is never joined to a scheme.",
        Decision.HOLD,
    ),
    (
        "ignition-given-twice",
        "both a fixed ignition heat and a wire or thread heat stand on Setup",
        "Setup gives a fixed ignition heat and a heat of {other} as well; only one of the two can be meant.",
        "Keep the fixed heat, or the wire and thread heats.",
        Decision.HOLD,
    ),
    (
        "repeatability-limit-missing",
        "Repeatability limit is blank",
        "No repeatability limit is in force, so no pair can be judged.",
        "Enter your own limit with its Source on Setup, or `method` with a Source to confirm the method's.",
        Decision.HOLD,
    ),
    (
        "comparison-basis-missing",
        "Comparison basis is blank",
        "No comparison basis is set, so replicates cannot be compared.",
        "Enter ad or d as the Comparison basis on Setup.",
        Decision.HOLD,
    ),
)
