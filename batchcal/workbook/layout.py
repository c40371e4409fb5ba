"""The layout of the workbook: sheets, headings, units, lists and notes, defined once.

The reader, the blank workbook, the messages and the documentation are all made from this module.
"""

from typing import Literal

from msgspec import Struct

from batchcal.logged import AID_NUMBERS, aid_fields
from batchcal.terms import Basis, ConcentrationUnit, EquipmentKind, Outcome, Period, Purpose, Titrant, Use, YesNo

Kind = Literal["id", "text", "number", "date", "time", "choice"]

OWN_VERDICTS = ("agree", "disagree")
"""What a lab's own sheet may say of the firings of a sample."""

HEADING_ROWS = 30
"""The heading row is looked for in this many first rows of a sheet."""


class Column(Struct, frozen=True):
    """One column of a sheet.

    ``field`` is the name in :mod:`batchcal.model`. ``quantity`` and ``unit`` apply to numbers: the family of
    units that a heading may name, and the one of the blank workbook. ``enters`` says that the value takes part
    in the computation, so that a doubtful cell stops the row. ``decimals`` and ``usual`` (in ``unit``) serve the
    blank workbook. ``with_basis`` columns may name a basis in the heading. ``own`` columns hold results of the
    lab's own sheet: nothing is computed with them, they are only compared.
    """

    field: str
    name: str
    kind: Kind
    note: str
    quantity: str | None = None
    unit: str | None = None
    choices: tuple[str, ...] = ()
    enters: bool = False
    decimals: int | None = None
    usual: tuple[float, float] | None = None
    with_basis: bool = False
    width: float = 12.0
    own: bool = False

    @property
    def heading(self) -> str:
        """Heading in the blank workbook, with its unit."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


class Sheet(Struct, frozen=True):
    """One sheet: its role, its exact name, its columns, and the headings without which it is of no use.

    ``needed`` holds alternatives: of each group, all fields of at least one member must have a column. ``own``
    columns, and ``more`` of what is logged, are read where they are there and never offered in the blank workbook.
    """

    role: str
    name: str
    note: str
    columns: tuple[Column, ...]
    needed: tuple[tuple[tuple[str, ...], ...], ...]
    own: tuple[Column, ...] = ()
    more: tuple[Column, ...] = ()
    common_name: bool = False
    """Whether a lab may well have a sheet of this name with a content of its own, which is then left alone."""

    @property
    def readable(self) -> tuple[Column, ...]:
        """Every column that is read."""
        return (*self.columns, *self.more, *self.own)


def _number(
    field: str,
    name: str,
    quantity: str,
    unit: str,
    note: str,
    *,
    decimals: int,
    enters: bool = True,
    usual: tuple[float, float] | None = None,
    with_basis: bool = False,
    width: float = 10.0,
) -> Column:
    return Column(
        field,
        name,
        "number",
        note,
        quantity,
        unit,
        enters=enters,
        decimals=decimals,
        usual=usual,
        with_basis=with_basis,
        width=width,
    )


def aid_columns(number: int) -> tuple[Column, Column]:
    """Return the columns of the name and the mass of a firing's aid of that number, from 1."""
    name = "Aid" if number == 1 else f"Aid {number}"
    name_field, mass_field = aid_fields(number)
    what = "the combustion aid" if number == 1 else "another aid of the same firing"
    note = f"Name of {what}, as in Setup's Aid heat [name]."
    return (
        Column(name_field, name, "text", note, enters=True, width=9.5),
        _number(mass_field, f"{name} mass", "mass", "g", f"Mass of {what}.", decimals=4, usual=(0, 0.8), width=8.5),
    )


SETUP = Sheet(
    "setup",
    "Setup",
    "What the laboratory has decided: method, limits, constants and where each comes from.",
    (
        Column("item", "Item", "text", "Name of the item; a name in [ ] repeats the item.", width=36),
        Column("value", "Value", "text", "A number, a word of the list, a date or a name.", width=24),
        Column("unit", "Unit", "text", "Unit of the number.", width=9),
        Column("source", "Source", "text", "Certificate, report or document the value comes from.", width=36),
        Column("in_force_from", "In force from", "date", "First day on which the value holds.", width=13),
    ),
    ((("item",),), (("value",),)),
)

_FIRING_COLUMNS = (
    Column(
        "firing",
        "Firing no.",
        "id",
        "Running number, never used again; misfires have one too.",
        enters=True,
        width=8.5,
    ),
    Column(
        "date",
        "Date",
        "date",
        "Day of the firing. Blank on Runs: the Batch date, unless a row there names another day.",
        enters=True,
        width=10.5,
    ),
    Column(
        "purpose",
        "Purpose",
        "choice",
        "Blank: calibration on Calibration, sample on Runs where there is a sample number.",
        choices=tuple(Purpose),
        enters=True,
        width=11.5,
    ),
    Column("series", "Series", "id", "Groups calibration firings; blank: one series.", enters=True, width=8),
    Column("sample", "Sample no.", "id", "Number on the bag, kept as text.", enters=True, width=13),
    Column("replicate", "Replicate", "id", "Letter of the test portion: A, B, C, D.", width=9.5),
    Column("analyst", "Analyst", "text", "Who fired.", width=8.5),
    Column("crucible", "Crucible no.", "id", "Mark on the crucible; its tares are compared.", width=8.5),
    _number(
        "crucible_g",
        "Crucible",
        "mass",
        "g",
        "Empty crucible (with the thread, if both weighings have it).",
        decimals=4,
        usual=(3.0, 40.0),
        width=9.5,
    ),
    _number(
        "crucible_and_sample_g",
        "Crucible + sample",
        "mass",
        "g",
        "Crucible with the sample, on the same balance as the empty one.",
        decimals=4,
        usual=(3.0, 42.0),
        width=10.5,
    ),
    _number(
        "mass_g",
        "Sample mass",
        "mass",
        "g",
        "Only where it is weighed direct; must agree with the two weighings where both are there.",
        decimals=4,
        usual=(0.3, 1.6),
        width=10,
    ),
    _number("wire_fitted_cm", "Wire fitted", "length", "cm", "Length fitted.", decimals=1, usual=(2, 20), width=9.5),
    _number(
        "thread_g",
        "Thread",
        "mass",
        "mg",
        "Mass of the cotton thread; 0 where none was used.",
        decimals=1,
        usual=(0, 100),
        width=8,
    ),
    *aid_columns(1),
    *aid_columns(2),
    _number(
        "capsule_mass_g",
        "Capsule mass",
        "mass",
        "g",
        "Mass of the capsule, not part of the sample mass.",
        decimals=4,
        usual=(0, 0.3),
        width=8.5,
    ),
    Column(
        "capsule_in_tare",
        "Capsule in tare",
        "choice",
        "yes: the capsule is in the weighing of the empty crucible as well; no: only in that with the sample, and it "
        "is taken off the difference. Blank: taken as yes, and said.",
        choices=tuple(YesNo),
        enters=True,
        width=9.5,
    ),
    Column("calorimeter", "Calorimeter", "id", "Blank everywhere: one apparatus.", enters=True, width=10.5),
    Column("bomb", "Bomb", "id", "The heat capacity is looked up by calorimeter and bomb.", enters=True, width=7),
    _number(
        "water_mL",
        "Water in bomb",
        "volume",
        "mL",
        "Water put into the bomb before filling.",
        decimals=1,
        enters=False,
        usual=(0, 20),
        width=8,
    ),
    _number(
        "oxygen_pressure_MPa",
        "Oxygen pressure",
        "pressure",
        "MPa",
        "Gauge reading after filling. Keep to the equipment's instructions.",
        decimals=2,
        enters=False,
        usual=(1.5, 3.5),
        width=9,
    ),
    Column("time", "Time", "time", "When the charge was fired.", width=6.5),
    _number(
        "initial_C",
        "Initial temperature",
        "temperature",
        "°C",
        "Reading when the charge was fired; leave blank where only the rise is read.",
        decimals=3,
        usual=(15, 35),
        width=11.5,
    ),
    _number(
        "final_C",
        "Final temperature",
        "temperature",
        "°C",
        "Reading at the end of the main period; leave blank where only the rise is read.",
        decimals=3,
        usual=(15, 40),
        width=11.5,
    ),
    _number(
        "rise_K",
        "Temperature rise",
        "temperature difference",
        "K",
        "As read, before the heat-exchange correction; all that a zeroed indicator gives.",
        decimals=3,
        usual=(0.5, 5.0),
        width=11.5,
    ),
    _number(
        "heat_exchange_K",
        "Heat-exchange correction",
        "temperature difference",
        "K",
        "Added to the rise: positive where heat was lost. Blank: none.",
        decimals=4,
        usual=(-0.1, 0.1),
        width=12.5,
    ),
    _number(
        "wire_left_cm",
        "Wire left",
        "length",
        "cm",
        "Length of the unburnt pieces; 0 where all burnt.",
        decimals=1,
        usual=(0, 20),
        width=8,
    ),
    _number(
        "wire_mass_g",
        "Wire mass",
        "mass",
        "mg",
        "Mass of the wire that burnt, where it is weighed.",
        decimals=1,
        usual=(1, 60),
        width=8,
    ),
    Column("residue", "Residue", "text", "Soot, spatter, unburnt matter; blank or none: clean.", width=10),
    Column(
        "washings_kept",
        "Washings kept",
        "choice",
        "Keep the washings until the pair is judged.",
        choices=tuple(YesNo),
        width=9,
    ),
    Column(
        "outcome",
        "Outcome",
        "choice",
        "Blank with a rise: good. Only a good firing is computed.",
        choices=tuple(Outcome),
        enters=True,
        width=10.5,
    ),
    Column(
        "use",
        "Use",
        "choice",
        "Blank: use. Setting aside needs a reason.",
        choices=tuple(Use),
        enters=True,
        width=9.5,
    ),
    Column("reason", "Reason", "text", "Technical cause of setting aside; that it disagreed is none.", width=15),
    Column("remark", "Remark", "text", "Anything else worth knowing.", width=16),
)

_MORE_AIDS = tuple(column for number in AID_NUMBERS if number > 2 for column in aid_columns(number))

_NEEDED_FIRING = (
    (("firing",),),
    (("mass_g",), ("crucible_g", "crucible_and_sample_g")),
    (("rise_K",), ("initial_C", "final_C")),
)


def _own(field: str, name: str, unit: str, note: str) -> Column:
    quantity = "energy per kelvin" if unit == "J/K" else "energy per mass"
    return Column(field, name, "number", note, quantity, unit, own=True)


CALIBRATION = Sheet(
    "calibration",
    "Calibration",
    "Benzoic acid firings that make the heat capacity, one row a firing; the sample mass is the benzoic acid's.",
    _FIRING_COLUMNS,
    _NEEDED_FIRING,
    (_own("own_heat_capacity", "Own heat capacity", "J/K", "What your own sheet makes of the firing."),),
    _MORE_AIDS,
)

RUNS = Sheet(
    "runs",
    "Runs",
    "The day's firings, one row a firing: samples, checks, trials, and those that went wrong.",
    _FIRING_COLUMNS,
    (*_NEEDED_FIRING, (("sample",),)),
    (
        _own("own_gross_ad", "Own gross, ad", "J/g", "Gross calorific value of your own sheet, as analysed."),
        _own("own_gross_d", "Own gross, d", "J/g", "Gross calorific value of your own sheet, dry."),
        _own("own_heat_capacity", "Own heat capacity", "J/K", "Heat capacity that your own sheet took for the row."),
    ),
    _MORE_AIDS,
)


def _reagent(field: str, name: str, note: str) -> Column:
    return _number(field, name, "volume", "mL", note, decimals=2, usual=(0, 50))


def _strength(field: str, name: str) -> Column:
    return _number(
        field, name, "concentration", "eq/L", "Only under two titrations.", decimals=4, usual=(0.02, 0.5), width=14
    )


TITRATION = Sheet(
    "titration",
    "Titration",
    "Titration of the washings, one row a firing, joined by the firing number.",
    (
        Column("firing", "Firing no.", "id", "The firing whose washings these are.", enters=True, width=10),
        Column(
            "titrant",
            "Titrant",
            "choice",
            "The base in the burette.",
            choices=tuple(Titrant),
            enters=True,
            width=18,
        ),
        Column(
            "concentration",
            "Concentration",
            "number",
            "Strength found on standardisation.",
            enters=True,
            decimals=4,
            usual=(0.02, 0.5),
            width=13,
        ),
        Column(
            "concentration_unit",
            "Concentration unit",
            "choice",
            "mol/L counts the base, eq/L counts its hydroxide; for sodium carbonate the factor is two.",
            choices=tuple(ConcentrationUnit),
            enters=True,
            width=13,
        ),
        _reagent("burette_start_mL", "Burette start", "Burette reading before."),
        _reagent("burette_end_mL", "Burette end", "Burette reading after."),
        _reagent("titre_mL", "Titre", "Volume used, before the blank is taken off."),
        _reagent("blank_mL", "Blank", "Volume that the rinse water alone takes; blank: none."),
        _reagent("baryta_mL", "Baryta", "Barium hydroxide used, under two titrations."),
        _strength("baryta_eq_per_L", "Baryta concentration"),
        _reagent("carbonate_mL", "Carbonate added", "Sodium carbonate added, under two titrations."),
        _strength("carbonate_eq_per_L", "Carbonate concentration"),
        _reagent("acid_mL", "Acid back-titre", "Acid used to titrate back, under two titrations."),
        _strength("acid_eq_per_L", "Acid concentration"),
    ),
    ((("firing",),),),
)


def _content(field: str, name: str, note: str, *, usual: tuple[float, float] = (0, 100), enters: bool = True) -> Column:
    return _number(field, name, "percentage", "%", note, decimals=2, usual=usual, enters=enters, with_basis=True)


SAMPLES = Sheet(
    "samples",
    "Samples",
    "What the other benches found, one row a sample.",
    (
        Column("sample", "Sample no.", "id", "Number on the bag, kept as text.", enters=True, width=13),
        Column("description", "Description", "text", "What it is.", width=24),
        Column("fuel_class", "Fuel class", "text", "Kind of fuel.", width=14),
        Column("source", "Source", "text", "Where it comes from.", width=16),
        _number(
            "moisture_analysis",
            "Moisture, analysis",
            "percentage",
            "%",
            "Moisture of the analysis sample, determined the same day.",
            decimals=2,
            usual=(0, 30),
            width=12,
        ),
        _number(
            "moisture_total",
            "Moisture, total",
            "percentage",
            "%",
            "Moisture of the fuel as received.",
            decimals=2,
            usual=(0, 70),
        ),
        _content("ash", "Ash", "With its basis."),
        _content("sulphur", "Sulphur", "With its basis; some acid schemes need it.", usual=(0, 10)),
        _content("hydrogen", "Hydrogen", "With its basis; net values need it.", usual=(0, 16)),
        _content("nitrogen", "Nitrogen", "With its basis.", usual=(0, 20)),
        _content("oxygen", "Oxygen", "With its basis.", usual=(0, 60)),
        _content("volatile", "Volatile matter", "With its basis.", enters=False),
        _content("carbon", "Carbon", "With its basis.", enters=False),
        _content("chlorine", "Chlorine", "With its basis.", usual=(0, 5), enters=False),
        Column(
            "basis",
            "Basis",
            "choice",
            "Basis of the contents in this row; a heading such as 'Ash, d (%)' says its own.",
            choices=tuple(Basis),
            enters=True,
            width=8,
        ),
        Column(
            "hydrogen_includes_moisture",
            "Hydrogen includes moisture",
            "choice",
            "Whether the hydrogen of the moisture is counted in.",
            choices=tuple(YesNo),
            enters=True,
            width=11,
        ),
        Column("moisture_date", "Moisture date", "date", "Day of the analysis moisture.", width=11),
        Column("delivery", "Delivery", "text", "Delivery or batch the sample was drawn from.", width=16),
        Column("received_on", "Received on", "date", "Day the sample came in; for the certificate.", width=11),
        Column("sampled_on", "Sampled on", "date", "Day it was taken, where that is known.", width=11),
        Column("sampled_by", "Sampled by", "text", "Who took it, by which plan; for the certificate.", width=18),
        Column("condition", "Condition", "text", "State in which it came in; for the certificate.", width=20),
        Column("moisture_total_date", "Total moisture date", "date", "Day of the total moisture.", width=11),
        Column(
            "contents_by",
            "Moisture and contents by",
            "text",
            "Who found them: `own`, or what came from another provider or the customer; for the certificate.",
            width=16,
        ),
        Column(
            "on_certificate",
            "On certificate",
            "choice",
            "`no` leaves the sample off the certificate; blank: it stands there.",
            choices=tuple(YesNo),
            width=11,
        ),
    ),
    ((("sample",),),),
    (
        _own("own_mean_ad", "Own mean, ad", "J/g", "Gross result of your own sheet, as analysed."),
        _own("own_mean_d", "Own mean, d", "J/g", "Gross result of your own sheet, dry."),
        _own("own_mean_ar", "Own mean, ar", "J/g", "Gross result of your own sheet, as received."),
        _own("own_net_ar", "Own net, ar", "J/g", "Net result of your own sheet at constant pressure, as received."),
        Column(
            "own_verdict",
            "Own verdict",
            "choice",
            "Whether the firings agree by your own sheet.",
            choices=OWN_VERDICTS,
            own=True,
        ),
    ),
)

READINGS = Sheet(
    "readings",
    "Readings",
    "Temperature against time, one row a reading; or one column a firing, headed by its number, beside Time.",
    (
        Column("firing", "Firing no.", "id", "The firing that was read.", enters=True, width=13),
        _number(
            "time_min",
            "Time",
            "time",
            "min",
            "Time of the reading; 0 at firing is a good habit.",
            decimals=2,
            usual=(-10, 40),
            width=13,
        ),
        _number(
            "temperature_C",
            "Temperature",
            "temperature",
            "°C",
            "What the thermometer shows.",
            decimals=3,
            usual=(15, 40),
            width=16,
        ),
        Column(
            "period",
            "Period",
            "choice",
            "fore up to firing, main to the end of the rise, after; the reading at firing is the last of the fore "
            "period, the one at the end of the main period its last.",
            choices=tuple(Period),
            enters=True,
            width=14,
        ),
    ),
    ((("time_min",),),),
)

TITRANT = Sheet(
    "titrant",
    "Titrant",
    "Standardisation of the titrants, one row a portion; used where Titration leaves the Concentration blank.",
    (
        Column("titrant", "Titrant", "choice", "The base.", choices=tuple(Titrant), enters=True, width=18),
        Column("date", "Standardised on", "date", "Day of the portion.", enters=True, width=15),
        Column("standard", "Primary standard", "text", "Substance and lot.", width=26),
        _number("portion_g", "Portion", "mass", "g", "Mass of the dried standard.", decimals=4, usual=(0.01, 2)),
        _number("molar_mass_g_per_mol", "Molar mass", "molar mass", "g/mol", "Of the primary standard.", decimals=3),
        Column(
            "equivalents",
            "Equivalents per mole",
            "number",
            "That one mole of the primary standard neutralises.",
            enters=True,
            decimals=0,
            width=12,
        ),
        _reagent("titre_mL", "Titre", "Volume of the titrant used."),
        _reagent("blank_mL", "Blank", "Volume that the solvent alone takes; blank: none."),
    ),
    ((("titrant",),), (("portion_g",),), (("titre_mL",),)),
)


def _count(field: str, name: str, note: str) -> Column:
    return Column(field, name, "number", note, decimals=0, usual=(0, 10000), width=13)


EQUIPMENT = Sheet(
    "equipment",
    "Equipment",
    "What you work with, one row an item; another row for another change, date or time in service.",
    (
        Column(
            "equipment",
            "Equipment",
            "id",
            "Its mark; for calorimeters and bombs as the firings have it.",
            enters=True,
            width=13,
        ),
        Column(
            "kind",
            "Kind",
            "choice",
            "What it is; without it nothing of the row is looked at.",
            choices=tuple(EquipmentKind),
            enters=True,
            width=13,
        ),
        Column(
            "of_calorimeter",
            "Of calorimeter",
            "id",
            "The calorimeter it belongs to; blank: all.",
            enters=True,
            width=12,
        ),
        Column(
            "in_service_from",
            "In service from",
            "date",
            "First day of use. A calorimeter or bomb fired outside its time in service is a safety finding.",
            enters=True,
            width=13,
        ),
        Column(
            "in_service_to", "In service to", "date", "Last day of use; blank: still in service.", enters=True, width=13
        ),
        Column(
            "changed_on",
            "Changed on",
            "date",
            "Day of an exchange of a part, a repair or a move. A heat capacity found before it waits for a new "
            "series; of a balance, a burette or a gauge it is only kept.",
            enters=True,
            width=13,
        ),
        Column("what_changed", "What changed", "text", "The part and what was done to it.", width=28),
        Column(
            "calibrated_on",
            "Calibrated on",
            "date",
            "Last calibration; of a bomb, its last pressure test. What is due holds from this day on.",
            width=13,
        ),
        Column(
            "due",
            "Due",
            "date",
            "Last day of the calibration; of a bomb, of its pressure test. Of crucible and other it is only kept.",
            enters=True,
            width=13,
        ),
        Column("certificate", "Certificate", "text", "Number of the certificate or report.", width=20),
        _count("firings_since_service", "Firings since service", "Counted to the end of the day, misfires too."),
        _count(
            "firings_between_services",
            "Firings between services",
            "So many the equipment's instructions or the local rules allow; blank: not looked at.",
        ),
        Column("remark", "Remark", "text", "Anything else worth knowing.", width=28),
    ),
    ((("equipment",),), (("kind",),)),
    common_name=True,
)

AMENDMENTS = Sheet(
    "amendments",
    "Amendments",
    "What a reviewer signs, one row each: `release`, or a blocking finding that is overridden. Safety never is.",
    (
        Column("finding", "Finding", "text", "Code of the finding that is overridden, or `release`.", width=24),
        Column("where", "Where", "text", "Its place as on the sheet Findings, e.g. Runs!F7, or blank.", width=16),
        Column("firing", "Firing no.", "id", "The firing that it concerns, if one.", width=10),
        Column("sample", "Sample no.", "id", "The sample that it concerns; a release without one is of all.", width=13),
        Column(
            "reason",
            "Reason",
            "text",
            "Why the result may stand in spite of it; of an amended issue, why it was changed.",
            width=44,
        ),
        Column("reviewer", "Reviewer", "text", "Who signs; not one who made the firings.", width=16),
        Column("date", "Date", "date", "Day of signing; a release needs it.", width=13),
    ),
    ((("finding",),),),
    common_name=True,
)

SHEETS: tuple[Sheet, ...] = (SETUP, CALIBRATION, RUNS, TITRATION, SAMPLES, READINGS, TITRANT, EQUIPMENT, AMENDMENTS)
"""The sheets in the order of work."""

RESULTS_SHEET = "Results"
FINDINGS_SHEET = "Findings"
WORKING_SHEET = "Working"
RECORD_SHEET = "Record"
CHANGES_SHEET = "Changes"
