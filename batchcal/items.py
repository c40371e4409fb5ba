"""The items of the Setup sheet: names, what each takes, and what it is for; part of the contract with the user."""

from dataclasses import dataclass
from typing import Literal

from batchcal.terms import (
    METHOD_KEYS,
    NET,
    REPORT_UNITS,
    AcidScheme,
    Basis,
    CalorieKind,
    CertificateConditions,
    FurtherTestRule,
    HeatCapacityModel,
    HeatExchangeMethod,
    MassBasis,
)

ItemKind = Literal["text", "choice", "choices", "date", "number"]


@dataclass(frozen=True, slots=True)
class SetupItem:
    """One item of the Setup sheet: its exact name, what it takes and what it is for.

    ``quantity`` names a family of units in :mod:`batchcal.units`; ``unit`` is what the blank workbook
    proposes. ``labelled`` items repeat, each with a name in square brackets. ``from_method`` items take
    the word "method" in place of a number. ``choices`` close the list, except that a number is allowed
    too where ``kind`` is "number".
    """

    key: str
    name: str
    kind: ItemKind
    note: str
    quantity: str | None = None
    unit: str | None = None
    choices: tuple[str, ...] = ()
    labelled: str | None = None
    from_method: bool = False
    safety: bool = False

    @property
    def figure(self) -> str:
        """Key of the method's figure that the word "method" stands for."""
        return "repeatability" if self.key == "repeatability_limit" else self.key


SETUP_ITEMS: tuple[SetupItem, ...] = (
    SetupItem("laboratory", "Laboratory", "text", "Name and place, as it shall stand on the page."),
    SetupItem("batch", "Batch", "text", "Your name for this day's work."),
    SetupItem(
        "batch_date",
        "Batch date",
        "date",
        "Day of the firings; stands in for a blank Date on Runs, unless a row there names another day.",
    ),
    SetupItem("analyst", "Analyst", "text", "Who fired and logged."),
    SetupItem("reviewer", "Reviewer", "text", "Second person who checks and signs; not the analyst."),
    SetupItem("method", "Method", "choice", "Key of the method followed; `lab` for your own.", choices=METHOD_KEYS),
    SetupItem(
        "acid_scheme",
        "Acid scheme",
        "choice",
        "How the acid heats are found; decides nitric and sulphuric together.",
        choices=tuple(AcidScheme),
    ),
    SetupItem(
        "comparison_basis",
        "Comparison basis",
        "choice",
        "Basis on which replicates are compared with the limit.",
        choices=(Basis.AS_ANALYSED, Basis.DRY),
    ),
    SetupItem(
        "further_test_rule",
        "Further-test rule",
        "choice",
        "What is done when two firings disagree. Blank: range.",
        choices=tuple(FurtherTestRule),
    ),
    SetupItem(
        "repeatability_limit",
        "Repeatability limit",
        "number",
        "Your limit for two firings, or `method` with a Source to confirm the method's. Blank: no verdict.",
        quantity="energy per mass",
        unit="J/g",
        from_method=True,
    ),
    SetupItem(
        "bases_required",
        "Bases required",
        "choices",
        "Bases a result must be given on before release, e.g. `ad, d, ar`; with `net`, net values as well.",
        choices=(*Basis, NET),
    ),
    SetupItem("report_unit", "Report unit", "choice", "Unit of the printed results.", choices=REPORT_UNITS),
    SetupItem(
        "report_rounding",
        "Report rounding",
        "number",
        "Step of the printed figure in the report unit, e.g. 10. Results are rounded once, at the end.",
    ),
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
    SetupItem(
        "series_minimum",
        "Series minimum",
        "number",
        "Fewest benzoic acid firings that make a heat capacity, or `method` with a Source.",
        from_method=True,
    ),
    SetupItem(
        "series_rsd_limit",
        "Series relative SD limit",
        "number",
        "Largest relative standard deviation of a series, or `method` with a Source.",
        quantity="percentage",
        unit="%",
        from_method=True,
    ),
    SetupItem(
        "heat_capacity_life",
        "Heat-capacity life",
        "number",
        "How long a heat capacity stays in force, or `method` with a Source.",
        quantity="time span",
        unit="days",
        from_method=True,
    ),
    SetupItem(
        "check_limit",
        "Check limit",
        "number",
        "Largest deviation of a check firing from the certificate value.",
        quantity="percentage or energy per mass",
        unit="%",
    ),
    SetupItem(
        "check_warning_limit",
        "Check warning limit",
        "number",
        "Deviation from which a second check is asked for. Blank: two thirds of the Check limit.",
        quantity="percentage or energy per mass",
        unit="%",
    ),
    SetupItem(
        "check_sd",
        "Check standard deviation",
        "number",
        "Of single check firings, from the lab's own. Blank: half of the Check limit.",
        quantity="percentage or energy per mass",
        unit="%",
    ),
    SetupItem(
        "series_step_limit",
        "Series step limit",
        "number",
        "Largest change from one series to the next of the same calorimeter and bomb. Blank: not checked.",
        quantity="percentage or energy per kelvin",
        unit="%",
    ),
    SetupItem(
        "shortest_firing_interval",
        "Shortest firing interval",
        "number",
        "Between two firings of one bomb. Blank: 15 min (common practice, no source).",
        quantity="time",
        unit="min",
    ),
    SetupItem(
        "waiting_after_misfire",
        "Waiting time after misfire",
        "number",
        "Before the bomb is used again, from the equipment's instructions. Blank: not checked.",
        quantity="time",
        unit="min",
    ),
    SetupItem(
        "moisture_gap_limit",
        "Moisture gap limit",
        "number",
        "Between the analysis moisture and the firing. Blank: 1 day (common practice, no source).",
        quantity="time span",
        unit="days",
    ),
    SetupItem(
        "reading_resolution",
        "Reading resolution",
        "number",
        "Smallest step in which the temperature is read.",
        quantity="temperature difference",
        unit="K",
    ),
    SetupItem(
        "heat_exchange_method",
        "Heat-exchange method",
        "choice",
        "How time readings are turned into a correction: two rates (integral over the main period), six tenths "
        "(short form) or none (adiabatic).",
        choices=tuple(HeatExchangeMethod),
    ),
    SetupItem(
        "heat_capacity_model",
        "Heat-capacity model",
        "choice",
        "constant (blank), or line: a straight line against the corrected rise, fitted to the series.",
        choices=tuple(HeatCapacityModel),
    ),
    SetupItem(
        "certificate_conditions",
        "Certificate conditions",
        "choice",
        "as certified (blank), or corrected to each firing's pressure, mass, water and temperature.",
        choices=tuple(CertificateConditions),
    ),
    SetupItem(
        "bomb_volume",
        "Bomb volume",
        "number",
        "Inside volume of the bomb, where the certificate value is corrected to the conditions.",
        quantity="volume",
        unit="mL",
    ),
    SetupItem(
        "coverage_factor",
        "Coverage factor",
        "number",
        "Multiplies the standard uncertainty to the expanded one. Blank: 2, for about 95 %.",
    ),
    SetupItem(
        "balance_uncertainty",
        "Balance standard uncertainty",
        "number",
        "Of one weighing. Blank: from its last digit only.",
        quantity="mass",
        unit="mg",
    ),
    SetupItem(
        "thermometer_uncertainty",
        "Thermometer standard uncertainty",
        "number",
        "Of a temperature difference, beside the reading step. Blank: from the reading step only.",
        quantity="temperature difference",
        unit="K",
    ),
    SetupItem(
        "heat_exchange_uncertainty",
        "Heat-exchange standard uncertainty",
        "number",
        "Of a typed heat-exchange correction. Where readings are logged it is found from them.",
        quantity="temperature difference",
        unit="K",
    ),
    SetupItem(
        "benzoic_uncertainty",
        "Benzoic acid standard uncertainty",
        "number",
        "Of the certificate value; the certificate's expanded one divided by its coverage factor.",
        quantity="energy per mass",
        unit="J/g",
    ),
    SetupItem(
        "heat_capacity_uncertainty",
        "Heat-capacity relative uncertainty",
        "number",
        "Standard uncertainty of a heat capacity that is entered on Setup.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "correction_uncertainty",
        "Correction relative uncertainty",
        "number",
        "Standard uncertainty of the ignition and acid heats together.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "aid_uncertainty",
        "Aid relative uncertainty",
        "number",
        "Standard uncertainty of the heat of aids and capsules.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "moisture_uncertainty",
        "Moisture standard uncertainty",
        "number",
        "Of the analysis and of the total moisture, in % of mass.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "ash_uncertainty",
        "Ash standard uncertainty",
        "number",
        "In % of mass, on the basis on which the ash is given; for values dry ash-free.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "hydrogen_uncertainty",
        "Hydrogen standard uncertainty",
        "number",
        "In % of mass, on the basis on which the hydrogen is given; for net values.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem(
        "repeatability_sd",
        "Repeatability standard deviation",
        "number",
        "Of single results, from the lab's own pairs. Blank: from 15 pairs of the log, else the limit divided by 2.77.",
        quantity="energy per mass",
        unit="J/g",
    ),
    SetupItem(
        "max_charge_energy",
        "Maximum charge energy",
        "number",
        "From the equipment's instructions. Blank: nothing is checked, and the page says so.",
        quantity="energy",
        unit="kJ",
        safety=True,
    ),
    SetupItem(
        "max_sample_mass",
        "Maximum sample mass",
        "number",
        "Sample and aids together, from the equipment's instructions.",
        quantity="mass",
        unit="g",
        safety=True,
    ),
    SetupItem(
        "max_oxygen_pressure",
        "Maximum oxygen pressure",
        "number",
        "From the equipment's instructions and the local code.",
        quantity="pressure",
        unit="MPa",
        safety=True,
    ),
    SetupItem(
        "min_oxygen_pressure",
        "Minimum oxygen pressure",
        "number",
        "Below it burning may be incomplete; from the method or the equipment's instructions.",
        quantity="pressure",
        unit="MPa",
        safety=True,
    ),
    SetupItem(
        "chlorine_limit",
        "Chlorine limit",
        "number",
        "Most chlorine in what is fired, as analysed, from the equipment's instructions. Blank: not checked.",
        quantity="percentage",
        unit="%",
    ),
    SetupItem("laboratory_address", "Laboratory address", "text", "Place of the firings; for the certificate."),
    SetupItem("customer", "Customer", "text", "Name and address; for the certificate."),
    SetupItem("certificate_number", "Certificate number", "text", "Given to no other certificate."),
    SetupItem("method_edition", "Method edition", "text", "Year or issue of the method; for the certificate."),
    SetupItem("method_deviations", "Method deviations", "text", "Departures from it, or `none`; for the certificate."),
    SetupItem("reference_temperature", "Reference temperature", "number", "That values refer to.", "temperature", "°C"),
    SetupItem("decision_rule", "Decision rule", "text", "Agreed for statements of conformity. Blank: none."),
    SetupItem(
        "heat_capacity",
        "Effective heat capacity",
        "number",
        "Only where no series stands on Calibration; with Source and In force from.",
        quantity="energy per kelvin",
        unit="J/K",
        labelled="calorimeter/bomb",
    ),
    SetupItem(
        "aid_heat",
        "Aid heat",
        "number",
        "Heat of combustion of a combustion aid, by the name used in the Aid columns.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
    SetupItem(
        "capsule_heat",
        "Capsule heat",
        "number",
        "Heat of combustion of the material of the capsules under Capsule mass; one kind a workbook.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
)

SETUP_ITEMS_BY_KEY = {item.key: item for item in SETUP_ITEMS}
