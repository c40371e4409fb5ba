"""The closed lists of words that stand in workbooks, pages and results files, and the items of the Setup sheet.

Everything here is part of the contract with the user's workbooks: a word is typed once, here, and the blank
workbook, the reader, the messages, the documentation and the tests take it from here.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal


class Purpose(StrEnum):
    """Why a charge was fired."""

    CALIBRATION = "calibration"
    CHECK = "check"
    AID = "aid"
    SAMPLE = "sample"
    TRIAL = "trial"


class Outcome(StrEnum):
    """How the firing went; only a good one is computed."""

    GOOD = "good"
    MISFIRE = "misfire"
    INCOMPLETE = "incomplete"
    LEAK = "leak"
    SPOILED = "spoiled"
    LOST = "lost"


class Use(StrEnum):
    """Whether a good firing takes part in results; setting one aside needs a technical reason."""

    USE = "use"
    SET_ASIDE = "set aside"


class YesNo(StrEnum):
    """A plain yes or no."""

    YES = "yes"
    NO = "no"


class AcidScheme(StrEnum):
    """How the heats of nitric and sulphuric acid are found; one word decides both."""

    TOTAL_AS_NITRIC = "total as nitric"
    SULPHUR_APART = "sulphur apart"
    TWO_TITRATIONS = "two titrations"
    PROPORTION = "proportion"
    FIXED = "fixed"
    NONE = "none"

    @property
    def uses_titre(self) -> bool:
        """Whether the scheme cannot do without the titration of the washings."""
        return self in (AcidScheme.TOTAL_AS_NITRIC, AcidScheme.SULPHUR_APART, AcidScheme.TWO_TITRATIONS)

    @property
    def uses_bench_sulphur(self) -> bool:
        """Whether the scheme needs the sulphur content from another bench."""
        return self not in (AcidScheme.TWO_TITRATIONS, AcidScheme.NONE)


class Basis(StrEnum):
    """State of the fuel a value is given on."""

    AS_ANALYSED = "ad"
    DRY = "d"
    AS_RECEIVED = "ar"
    DRY_ASH_FREE = "daf"


BASIS_NAMES = {
    Basis.AS_ANALYSED: "as analysed",
    Basis.DRY: "dry",
    Basis.AS_RECEIVED: "as received",
    Basis.DRY_ASH_FREE: "dry ash-free",
}


class FurtherTestRule(StrEnum):
    """What is done with the results of a sample once more than two firings are needed."""

    RANGE = "range"
    MEDIAN = "median"
    CLOSEST_TWO = "closest two"


class MassBasis(StrEnum):
    """Whether a certificate's gram is mass in vacuum or the reading of a balance in air."""

    AIR = "air"
    VACUUM = "vacuum"


class CalorieKind(StrEnum):
    """Which calorie is meant; they differ by up to 0.12 %."""

    INTERNATIONAL = "international"
    THERMOCHEMICAL = "thermochemical"
    FIFTEEN_DEGREES = "15 °C"
    TWENTY_DEGREES = "20 °C"


class Titrant(StrEnum):
    """The base used to titrate the washings."""

    SODIUM_CARBONATE = "sodium carbonate"
    SODIUM_HYDROXIDE = "sodium hydroxide"
    POTASSIUM_HYDROXIDE = "potassium hydroxide"
    BARIUM_HYDROXIDE = "barium hydroxide"

    @property
    def equivalents_per_mole(self) -> int:
        """Moles of hydrogen ion that one mole of the base takes up."""
        return 2 if self in (Titrant.SODIUM_CARBONATE, Titrant.BARIUM_HYDROXIDE) else 1


class ConcentrationUnit(StrEnum):
    """Unit of a titrant's strength; for a two-equivalent base the two differ by a factor of two."""

    MOLE_PER_LITRE = "mol/L"
    EQUIVALENT_PER_LITRE = "eq/L"


class FiringState(StrEnum):
    """What became of a firing."""

    USED = "used"
    PROVISIONAL = "provisional"
    SET_ASIDE = "set aside"
    EXCLUDED = "excluded"
    NOT_COMPUTED = "not computed"


class SeriesState(StrEnum):
    """Whether a heat capacity may be used for results."""

    IN_FORCE = "in force"
    EXPIRED = "expired"
    TOO_FEW = "too few"
    TOO_SCATTERED = "too scattered"


class Decision(StrEnum):
    """What may be done with a sample tonight; later members outrank earlier ones."""

    READY = "ready"
    REPEAT = "repeat"
    WAIT = "wait"
    HOLD = "hold"

    @property
    def rank(self) -> int:
        """Position in the order of precedence: hold before wait before repeat before ready."""
        return list(Decision).index(self)


METHOD_KEYS = (
    "iso-1928",
    "iso-18125",
    "iso-21654",
    "iso-9831",
    "astm-d5865",
    "astm-d240",
    "astm-d4809",
    "is-1350-2",
    "gbt-213",
    "lab",
)
"""Keys of the methods, in the order in which they are listed; each has a file in reference/methods."""

REPORT_UNITS = ("J/g", "kJ/kg", "MJ/kg", "cal/g", "kcal/kg", "Btu/lb")
"""Units a report may be printed in."""

FROM_METHOD = "method"
"""Value of a Setup item by which the lab confirms the method's own figure (with a Source)."""

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


_BASES = tuple(Basis)

SETUP_ITEMS: tuple[SetupItem, ...] = (
    SetupItem("laboratory", "Laboratory", "text", "Name and place, as it shall stand on the page."),
    SetupItem("batch", "Batch", "text", "Your name for this day's work."),
    SetupItem("batch_date", "Batch date", "date", "Day of the firings; stands in for a blank Date on Runs."),
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
        "Bases a result must be given on before release, e.g. `ad, d, ar`.",
        choices=_BASES,
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
        "reading_resolution",
        "Reading resolution",
        "number",
        "Smallest step in which the temperature is read.",
        quantity="temperature difference",
        unit="K",
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
        "Heat of combustion of a combustion aid, by the name used in the Aid column.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
    SetupItem(
        "capsule_heat",
        "Capsule heat",
        "number",
        "Heat of combustion of the capsule material.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
)

SETUP_ITEMS_BY_KEY = {item.key: item for item in SETUP_ITEMS}
