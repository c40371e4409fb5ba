"""The heats that are entered, and the titrants."""

from batchcal.items.item import SetupItem
from batchcal.terms import CalorieKind, MassBasis

HEATS: tuple[SetupItem, ...] = (
    SetupItem(
        "calorie",
        "Calorie",
        "number",
        "Which calorie every cal and kcal in this workbook is, or its joules as a number.",
        choices=tuple(CalorieKind),
    ),
    SetupItem(
        "benzoic_heat",
        "Benzoic acid heat of combustion",
        "number",
        "From the certificate of the lot in use.",
        quantity="energy per mass",
        unit="J/g",
    ),
    SetupItem(
        "benzoic_mass_basis",
        "Benzoic acid mass basis",
        "choice",
        "Whether that value is per gram in vacuum or as weighed in air; the certificate says.",
        choices=tuple(MassBasis),
    ),
    SetupItem(
        "wire_heat",
        "Wire heat",
        "number",
        "Heat of the wire burnt, per length (J/cm, cal/cm) or per mass (J/g, J/mg).",
        quantity="energy per length or mass",
        unit="J/cm",
    ),
    SetupItem(
        "thread_heat",
        "Thread heat",
        "number",
        "Heat of combustion of the cotton thread.",
        quantity="energy per mass",
        unit="J/mg",
    ),
    SetupItem(
        "fixed_ignition_heat",
        "Fixed ignition heat",
        "number",
        "One heat for every ignition, instead of wire and thread.",
        quantity="energy",
        unit="J",
    ),
    SetupItem(
        "nitric_heat",
        "Nitric acid heat",
        "number",
        "Heat of formation of the nitric acid per mole. Under `fixed` the heat per firing (J); under "
        "`proportion` the fraction of the bomb value (%).",
        quantity="nitric heat",
        unit="kJ/mol",
    ),
    SetupItem(
        "sulphuric_heat",
        "Sulphuric acid heat",
        "number",
        "Heat of sulphur dioxide going to sulphuric acid in the washings, per mole of sulphur.",
        quantity="energy per amount",
        unit="kJ/mol",
    ),
    SetupItem(
        "titrant_life",
        "Titrant life",
        "number",
        "How long a standardisation holds. Blank: not checked.",
        quantity="time span",
        unit="days",
    ),
    SetupItem(
        "titrant_spread_limit",
        "Titrant spread limit",
        "number",
        "Largest range of the portions of one standardisation, in % of their mean. Blank: not checked.",
        quantity="percentage",
        unit="%",
    ),
)
