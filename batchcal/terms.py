"""The closed lists of words that stand in workbooks, pages and results files.

Everything here is part of the contract with the user's workbooks: a word is typed once, here, and the blank
workbook, the reader, the messages, the documentation and the tests take it from here.
"""

from enum import StrEnum


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


NET_BASES = (Basis.AS_ANALYSED, Basis.DRY, Basis.AS_RECEIVED)
"""Bases of a net value; dry ash-free has none, since it is no state in which fuel is burnt."""

NET_PREFIX = "net_"
"""Before the basis, in the key of a net value."""

VALUE_NAMES = {str(basis): name for basis, name in BASIS_NAMES.items()} | {
    f"{NET_PREFIX}{basis}": f"net {BASIS_NAMES[basis]}" for basis in NET_BASES
}
"""The values of a sample that have an uncertainty: "d" for the gross value dry, "net_ar" for the net as received."""


class DecimalMark(StrEnum):
    """The sign between the whole and the parts of a printed figure."""

    POINT = "point"
    COMMA = "comma"

    @property
    def sign(self) -> str:
        """The sign itself."""
        return "," if self is DecimalMark.COMMA else "."


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


class EquipmentKind(StrEnum):
    """What an item of equipment is."""

    CALORIMETER = "calorimeter"
    BOMB = "bomb"
    THERMOMETER = "thermometer"
    BALANCE = "balance"
    BURETTE = "burette"
    GAUGE = "gauge"
    CRUCIBLE = "crucible"
    OTHER = "other"


class ConcentrationUnit(StrEnum):
    """Unit of a titrant's strength; for a two-equivalent base the two differ by a factor of two."""

    MOLE_PER_LITRE = "mol/L"
    EQUIVALENT_PER_LITRE = "eq/L"


class Period(StrEnum):
    """Part of a firing that a temperature reading belongs to."""

    FORE = "fore"
    MAIN = "main"
    AFTER = "after"


class HeatExchangeMethod(StrEnum):
    """How the heat exchanged with the jacket is found from time-temperature readings."""

    TWO_RATES = "two rates"
    SIX_TENTHS = "six tenths"
    NONE = "none"


class HeatCapacityModel(StrEnum):
    """Whether a heat capacity is one number or a straight line against the corrected rise."""

    CONSTANT = "constant"
    LINE = "line"


class CertificateConditions(StrEnum):
    """Whether the certificate value is taken as it stands or corrected to the conditions of each firing."""

    AS_CERTIFIED = "as certified"
    CORRECTED = "corrected"


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

NET = "net"
"""Word in Bases required by which net values are required as well."""
