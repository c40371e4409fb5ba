"""Logs that bring every part of the calculation into play, for the sheet Working; all figures are invented."""

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

from logbook import DAY, Log
from simulated_calorimeter import simulate

BENZOIC_IN_AIR = 26454.08
CAPACITY = 10000.0
TITRANT_HEADINGS = [
    "Titrant", "Standardised on", "Primary standard", "Portion (g)", "Molar mass", "Equivalents per mole",
    "Titre (mL)", "Blank (mL)",
]  # fmt: skip
READING_HEADINGS = ["Firing no.", "Time (min)", "Temperature (°C)", "Period"]
MASSES = (0.8523, 0.9214, 1.0031, 1.0447, 1.1012)


class Change(NamedTuple):
    """One input that a person changes in the results workbook: its sheet, the number in its row, its field."""

    sheet: str
    number: str
    field: str
    by: float
    """What is added to the figure in its cell."""
    seen_at: str
    """Firing or sample whose result must follow."""
    reading: int = 16
    """Which reading of the firing, counted from 0; this one is in the main period, ten minutes after firing."""


class Case(NamedTuple):
    """A log, and the change by which its formulas are put to the test."""

    make: Callable[[], Log]
    change: Change


def full(scheme: str = "total as nitric") -> Log:
    """A day with a series, a check and two samples in duplicate, the masses by difference."""
    log = Log()
    log.setup = {
        "Laboratory": ("Invented laboratory",),
        "Batch date": (DAY,),
        "Analyst": ("A",),
        "Reviewer": ("B",),
        "Method": ("lab",),
        "Acid scheme": (scheme,),
        "Comparison basis": ("d",),
        "Bases required": ("ad, d, ar, daf",),
        "Repeatability limit": (120, "J/g", "own"),
        "Benzoic acid heat of combustion": (26434, "J/g", "certificate"),
        "Benzoic acid mass basis": ("vacuum",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.5, "%", "own"),
        "Heat-capacity life": (90, "days", "own"),
        "Check limit": (0.5, "%", "own"),
        "Wire heat": (9.6, "J/cm", "own"),
        "Thread heat": (17.5, "J/mg", "own"),
        "Nitric acid heat": (59.9, "kJ/mol", "own"),
        "Sulphuric acid heat": (301.4, "kJ/mol", "own"),
    }
    for number, mass in enumerate(MASSES, 101):
        fire(log, "Calibration", number, mass, BENZOIC_IN_AIR, scatter=0.0003 * (number % 3 - 1))
    fire(log, "Runs", 1, 1.0123, BENZOIC_IN_AIR, purpose="check")
    for number, mass in ((2, 0.9871), (3, 1.0214)):
        fire(log, "Runs", number, mass, 24512.0, sample="S1", scatter=0.0004 * number)
    for number, mass in ((4, 1.1032), (5, 1.0872)):
        fire(log, "Runs", number, mass, 18233.0, sample="S2", scatter=0.0003 * number)
    row = {
        "moisture_analysis": 4.12, "moisture_total": 9.34, "ash": 10.21, "sulphur": 1.21, "hydrogen": 4.87,
        "nitrogen": 1.32, "oxygen": 9.4, "carbon": 69.1, "basis": "ad", "hydrogen_includes_moisture": "yes",
    }  # fmt: skip
    log.add("Samples", sample_no="S1", **row)
    log.add("Samples", sample_no="S2", **{**row, "moisture_analysis": 6.48, "sulphur": 0.14, "ash": 1.03})
    return log


def fire(
    log: Log, sheet: str, number: int, mass: float, value: float, *, scatter: float = 0.0, **more: Any
) -> dict[str, Any]:
    """Fire one charge of about this value (J/g) and log it, with its titration."""
    rise = round((mass * value + 175.0) / CAPACITY + scatter, 4)
    start = round(22.1 + 0.037 * (number % 11), 3)
    exchange = round(0.0004 * (number % 5) - 0.0006, 4)
    row = log.add(
        sheet, firing_no=number, date=DAY if sheet == "Runs" else DAY - dt.timedelta(days=30),
        crucible=round(11.2034 + 0.011 * (number % 7), 4),
        crucible_and_sample=round(11.2034 + 0.011 * (number % 7) + mass, 4), wire_fitted=10.0,
        wire_left=round(2.1 + 0.1 * (number % 6), 1), thread=round(2.7 + 0.1 * (number % 4), 1),
        initial_temperature=start, final_temperature=round(start + rise - exchange, 4),
        heat_exchange_correction=exchange,
    )  # fmt: skip
    if more.get("sample"):
        row["Sample no."] = more["sample"]
    if more.get("purpose"):
        row["Purpose"] = more["purpose"]
    log.add(
        "Titration", firing_no=number, titrant="sodium carbonate", concentration=0.05, concentration_unit="mol/L",
        burette_start=round(0.3 + 0.21 * (number % 4), 2), burette_end=round(9.8 + 0.13 * (number % 9), 2), blank=0.1,
    )  # fmt: skip
    return row


def rename(log: Log, sheet: str, old: str, new: str, change: Callable[[Any], Any] = lambda value: value) -> None:
    """Give a column another heading, and its figures another unit with it."""
    log.headings[sheet] = [new if heading == old else heading for heading in log.headings[sheet]]
    for row in log.rows[sheet]:
        if old in row:
            row[new] = change(row.pop(old))


def _rows(log: Log, *sheets: str) -> list[dict[str, Any]]:
    return [row for sheet in sheets for row in log.rows[sheet]]


def _fired(log: Log) -> list[dict[str, Any]]:
    return _rows(log, "Calibration", "Runs")


def two_titrations() -> Log:
    log = full("two titrations")
    for row in log.rows["Titration"]:
        number = row["Firing no."]
        for heading in ("Titrant", "Concentration", "Concentration unit", "Burette start (mL)", "Burette end (mL)"):
            row.pop(heading)
        sulphur = 0.0 if number in (1, *range(101, 106)) else 0.38 if number in (2, 3) else 0.05
        nitric = 0.5 + 0.01 * (number % 7)
        row |= {
            "Baryta (mL)": round(0.1 + 10 * (nitric + 2 * sulphur), 2), "Baryta concentration (eq/L)": 0.1,
            "Carbonate added (mL)": 20.0, "Carbonate concentration (eq/L)": 0.1,
            "Acid back-titre (mL)": round(20.0 - 10 * nitric, 2), "Acid concentration (eq/L)": 0.1,
        }  # fmt: skip
    return log


def proportion(unit: str | None) -> Log:
    log = full("proportion")
    log.setup["Nitric acid heat"] = (0.12 if unit else 0.0012, unit, "own")
    return log


def fixed() -> Log:
    log = full("fixed")
    log.setup["Nitric acid heat"] = (41.0, "J", "own")
    log.setup["Fixed ignition heat"] = (131.5, "J", "own")
    del log.setup["Wire heat"], log.setup["Thread heat"]
    return log


def no_acids() -> Log:
    log = full("none")
    log.setup["Repeatability limit"] = (28.7, "cal/g", "own")
    log.setup["Calorie"] = ("international",)
    return log


def _scaled(factor: float, value: float) -> float:
    return round(value * factor, 6)


def own_units() -> Log:
    """Milligrams, millimetres, kelvins, calories and a report in kcal/kg."""
    log = full("sulphur apart")
    log.setup |= {
        "Calorie": ("thermochemical",),
        "Benzoic acid heat of combustion": (6318.0, "cal/g", "certificate"),
        "Wire heat": (2.3, "cal/cm", "own"),
        "Thread heat": (4180, "cal/g", "own"),
        "Nitric acid heat": (14.3, "kcal/mol", "own"),
        "Sulphuric acid heat": (72.0, "kcal/mol", "own"),
        "Repeatability limit": (30, "kcal/kg", "own"),
        "Report unit": ("kcal/kg",),
    }
    for sheet in ("Calibration", "Runs"):
        for old, new, factor in (
            ("Crucible (g)", "Crucible (mg)", 1000), ("Crucible + sample (g)", "Crucible + sample (mg)", 1000),
            ("Wire fitted (cm)", "Wire fitted (mm)", 10), ("Wire left (cm)", "Wire left (mm)", 10),
            ("Thread (mg)", "Thread (g)", 0.001),
        ):  # fmt: skip
            rename(log, sheet, old, new, partial(_scaled, factor))
        for name in ("Initial", "Final"):
            old, new = f"{name} temperature (°C)", f"{name} temperature (K)"
            rename(log, sheet, old, new, lambda value: round(value + 273.15, 4))
    return log


def joules_of_the_calorie() -> Log:
    """The calorie as a number of joules, wire by its mass, sample mass and rise typed, one mass in mg."""
    log = full()
    log.setup |= {
        "Calorie": (4.1855, None, "own"),
        "Wire heat": (1.4, "kcal/g", "own"),
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Report unit": ("Btu/lb",),
    }
    for number, row in enumerate(_fired(log)):
        row["Sample mass (g)"] = round(row.pop("Crucible + sample (g)") - row.pop("Crucible (g)"), 4)
        row["Temperature rise (K)"] = round(row.pop("Final temperature (°C)") - row.pop("Initial temperature (°C)"), 4)
        row["Wire mass (mg)"] = round(11.0 + 0.2 * number, 1)
        del row["Wire fitted (cm)"], row["Wire left (cm)"]
    rename(log, "Runs", "Sample mass (g)", "Sample mass (mg)", lambda value: round(1000 * value, 1))
    for row in log.rows["Titration"]:
        row["Titre (mL)"] = round(row.pop("Burette end (mL)") - row.pop("Burette start (mL)"), 2)
        row["Titrant"], row["Concentration"], row["Concentration unit"] = "sodium hydroxide", 0.1, "eq/L"
        row["Blank (mL)"] = None
    return log


def further(rule: str, *scatters: float) -> Log:
    """A sample with more than two firings, apart from one another by what is asked for in K."""
    log = full()
    log.setup["Further-test rule"] = (rule,)
    log.rows["Runs"] = [row for row in log.rows["Runs"] if row.get("Sample no.") != "S2"]
    log.rows["Samples"] = log.rows["Samples"][:1]
    log.rows["Titration"] = [row for row in log.rows["Titration"] if row["Firing no."] not in (4, 5)]
    for number, scatter in enumerate(scatters, 11):
        fire(log, "Runs", number, 0.95 + 0.013 * (number - 10), 24512.0, sample="S1", scatter=scatter)
    return log


def aids() -> Log:
    """Two aids and a capsule, one aid's heat from its own firings, another's from firings with the first."""
    log = full()
    log.setup["Aid heat [oil]"] = (45.9, "kJ/g", "own")
    log.setup["Capsule heat [gelatine]"] = (18970, "J/g", "own")
    s1 = [row for row in log.rows["Runs"] if row.get("Sample no.") == "S1"]
    for row in s1:
        for heading in ("Crucible + sample (g)", "Final temperature (°C)"):
            row[heading] = round(row[heading] - (0.3 if "Crucible" in heading else 0.2), 4)
        row |= {"Aid": "oil", "Aid mass (g)": 0.0512, "Capsule mass (g)": 0.1103, "Capsule in tare": "yes"}
    s2 = [row for row in log.rows["Runs"] if row.get("Sample no.") == "S2"]
    for row in s2:
        row |= {"Aid": "Film", "Aid mass (g)": 0.0421, "Aid 2": "oil", "Aid 2 mass (g)": 0.0234,
                "Capsule mass (g)": 0.0902, "Capsule in tare": "no"}  # fmt: skip
        row["Crucible + sample (g)"] = round(row["Crucible + sample (g)"] + 0.0902, 4)
    for number in range(21, 25):
        row = fire(log, "Runs", number, 0.8 + 0.011 * (number - 20), BENZOIC_IN_AIR, purpose="aid",
                   scatter=0.2310 + 0.0003 * (number - 20))  # fmt: skip
        row |= {"Aid": "film", "Aid mass (g)": 0.0503}
    for number in range(31, 34):
        row = fire(log, "Runs", number, 0.7 + 0.017 * (number - 30), BENZOIC_IN_AIR, purpose="aid",
                   scatter=0.4210 + 0.0002 * (number - 30))  # fmt: skip
        row |= {"Aid": "film", "Aid mass (g)": 0.0503, "Aid 2": "wax", "Aid 2 mass (g)": 0.0411}
    row = log.rows["Runs"][3]
    row |= {"Aid 3": "wax", "Aid 3 mass (g)": 0.0102}
    return log


def readings(
    method: str, *, seconds: bool = False, kelvin: bool = False, wide: bool = False, mixed: bool = False
) -> Log:
    """Every firing read against time; ``mixed``: the readings of two firings stand among one another."""
    log = full()
    log.setup["Heat-exchange method"] = (method,)
    headings = list(READING_HEADINGS)
    rows: list[dict[str, Any]] = []
    for row in _fired(log):
        rise = row.pop("Final temperature (°C)") - row.pop("Initial temperature (°C)")
        del row["Heat-exchange correction (K)"]
        number = row["Firing no."]
        times, temperatures = simulate(1.0 + 0.2 * (number % 7), interval=1.0)
        factor = rise / 2.6
        for time, temperature in zip(times, temperatures, strict=True):
            period = "fore" if time <= 0 else "main" if time <= 12 else "after"
            value = round(22.0 + (float(temperature) - float(temperatures[0])) * factor, 4)
            rows.append(dict(zip(headings, (number, float(time), value, period), strict=True)))
    if mixed:
        among = [row for row in rows if row["Firing no."] in (2, 3)]
        rows = [row for row in rows if row["Firing no."] not in (2, 3)]
        rows += sorted(among, key=lambda row: float(row["Time (min)"]))
    log.headings["Readings"] = headings
    log.rows["Readings"] = rows
    if seconds:
        rename(log, "Readings", "Time (min)", "Time (s)", lambda value: 60 * value)
    if kelvin:
        rename(log, "Readings", "Temperature (°C)", "Temperature (K)", lambda value: round(value + 273.15, 4))
    if wide:
        _side_by_side(log)
    return log


def passed_twice() -> Log:
    """A reading of the main period falls below the turning temperature once it was passed."""
    log = readings("six tenths")
    row = next(row for row in log.rows["Readings"] if row["Firing no."] == 2 and row["Time (min)"] == 4)
    row["Temperature (°C)"] = round(row["Temperature (°C)"] - 1.9, 4)
    return log


def _side_by_side(log: Log) -> None:
    """Stand the readings of all firings beside one another, one column a firing."""
    numbers = list(dict.fromkeys(row["Firing no."] for row in log.rows["Readings"]))
    log.headings["Readings"] = ["Time (min)", "Period", *[str(number) for number in numbers]]
    lines: dict[float, dict[str, Any]] = {}
    for row in log.rows["Readings"]:
        line = lines.setdefault(row["Time (min)"], {"Time (min)": row["Time (min)"], "Period": row["Period"]})
        line[str(row["Firing no."])] = row["Temperature (°C)"]
    log.rows["Readings"] = list(lines.values())


def standardised() -> Log:
    """Strengths from the standardisation of the titrant."""
    log = full()
    for row in log.rows["Titration"]:
        row["Concentration"] = row["Concentration unit"] = None
        row["Titrant"] = "sodium hydroxide"
    log.headings["Titrant"] = TITRANT_HEADINGS
    log.rows["Titrant"] = [
        dict(zip(TITRANT_HEADINGS, row, strict=True))
        for row in (
            ("sodium hydroxide", DAY - dt.timedelta(days=40), "carbonate", 0.1060, 105.988, 2, 20.10, 0.10),
            ("sodium hydroxide", DAY - dt.timedelta(days=40), "carbonate", 0.1112, 105.988, 2, 21.04, None),
            ("sodium hydroxide", DAY - dt.timedelta(days=4), "carbonate", 0.1021, 105.988, 2, 19.42, 0.10),
        )
    ]
    return log


def line() -> Log:
    """A heat capacity that is a line against the rise, and the certificate value at the conditions of each firing."""
    log = full()
    log.setup |= {
        "Heat-capacity model": ("line",),
        "Certificate conditions": ("corrected",),
        "Bomb volume": (312, "mL", "own"),
    }
    for number, row in enumerate(_fired(log)):
        row |= {"Oxygen pressure (MPa)": round(29.0 + 0.1 * (number % 3), 1), "Water in bomb (mL)": 1.0}
    for sheet in ("Calibration", "Runs"):
        rename(log, sheet, "Oxygen pressure (MPa)", "Oxygen pressure (bar)")
    return log


def entered() -> Log:
    """The heat capacity as entered on Setup, in calories."""
    log = full()
    log.rows.pop("Calibration")
    log.rows["Titration"] = [row for row in log.rows["Titration"] if row["Firing no."] < 100]
    log.setup["Calorie"] = ("20 °C",)
    log.setup["Effective heat capacity"] = (2.3912, "kcal/K", "own series", DAY - dt.timedelta(days=10))
    return log


def contents(basis: str, *, includes: str = "no") -> Log:
    """The contents on another basis, the oxygen by difference."""
    log = full("sulphur apart")
    log.setup["Comparison basis"] = ("ad",)
    for row in log.rows["Samples"]:
        row["Basis"] = None
        del row["Oxygen (%)"]
        row["Hydrogen includes moisture"] = includes
    for name in ("Sulphur", "Hydrogen", "Nitrogen", "Carbon", "Ash"):
        at = "d" if name == "Ash" and basis == "daf" else basis
        rename(log, "Samples", f"{name} (%)", f"{name}, {at} (%)")
    return log


def liquid() -> Log:
    """A petroleum liquid whose hydrogen is not known, and a sample listed without moisture."""
    log = full("none")
    log.setup["Method"] = ("astm-d240",)
    log.setup["Comparison basis"] = ("ad",)
    log.setup["Bases required"] = ("ad",)
    for row in log.rows["Samples"]:
        for heading in ("Hydrogen (%)", "Hydrogen includes moisture", "Moisture, analysis (%)"):
            row.pop(heading)
    return log


def left_out() -> Log:
    """Firings that are set aside, misfired, and on trial."""
    log = full()
    for sheet, number in (("Calibration", 106), ("Runs", 6)):
        of = {"sample": "S1"} if sheet == "Runs" else {}
        row = fire(log, sheet, number, 0.9712, 24512.0 if of else BENZOIC_IN_AIR, scatter=0.021, **of)
        row |= {"Use": "set aside", "Reason": "stirrer stopped"}
    log.add("Runs", firing_no=7, date=DAY, sample_no="S2", outcome="misfire", reason="wire slipped")
    log.add("Runs", firing_no=8, date=DAY, purpose="trial", sample_mass=1.0, temperature_rise=2.5)
    return log


_RISE = Change("Runs", "2", "final_C", 0.003, "2")
_MASS = Change("Runs", "2", "crucible_and_sample_g", 0.002, "2")
_READING = Change("Readings", "2", "temperature_C", 0.002, "2")
_TURN = Change("Readings", "2", "temperature_C", 0.05, "2", reading=7)

CASES: dict[str, Case] = {
    "total_as_nitric": Case(full, Change("Titration", "2", "burette_end_mL", 1.3, "2")),
    "sulphur_apart": Case(lambda: full("sulphur apart"), Change("Samples", "S1", "sulphur", -0.3, "2")),
    "two_titrations": Case(two_titrations, Change("Titration", "2", "acid_mL", -0.4, "2")),
    "proportion_in_percent": Case(lambda: proportion("%"), _RISE),
    "proportion_as_fraction": Case(lambda: proportion(None), _MASS),
    "fixed": Case(fixed, Change("Samples", "S1", "moisture_analysis", 0.3, "S1")),
    "none": Case(no_acids, Change("Samples", "S1", "moisture_total", 1.1, "S1")),
    "own_units": Case(own_units, Change("Runs", "2", "thread_g", 0.0011, "2")),
    "joules_of_the_calorie": Case(joules_of_the_calorie, Change("Runs", "2", "mass_g", 1.4, "2")),
    "left_out": Case(left_out, Change("Calibration", "103", "final_C", 0.003, "S2")),
    "three_by_range": Case(lambda: further("range", 0.0131), _RISE),
    "four_by_range": Case(lambda: further("range", 0.0131, 0.0140), Change("Runs", "12", "final_C", 0.001, "S1")),
    "four_apart": Case(lambda: further("range", 0.0231, 0.0290), Change("Runs", "3", "final_C", 0.001, "S1")),
    "three_by_median": Case(lambda: further("median", 0.0231), Change("Runs", "3", "final_C", 0.001, "S1")),
    "closest_two_of_three": Case(lambda: further("closest two", 0.0231), Change("Runs", "3", "final_C", 0.001, "S1")),
    "closest_two_of_four": Case(
        lambda: further("closest two", 0.0231, 0.0290), Change("Runs", "3", "final_C", 0.001, "S1")
    ),
    "five": Case(lambda: further("range", 0.0031, 0.0040, 0.0017), _RISE),
    "aids": Case(aids, Change("Runs", "22", "final_C", 0.003, "22")),
    "aid_in_use": Case(aids, Change("Runs", "31", "aid_mass_g", 0.0004, "4")),
    "two_rates": Case(lambda: readings("two rates"), _READING),
    "two_rates_own_units": Case(lambda: readings("two rates", seconds=True, kelvin=True), _READING),
    "six_tenths": Case(lambda: readings("six tenths"), _TURN),
    "six_tenths_own_units": Case(lambda: readings("six tenths", seconds=True, kelvin=True), _TURN),
    "six_tenths_passed_twice": Case(passed_twice, _TURN),
    "side_by_side": Case(lambda: readings("two rates", wide=True), _READING),
    "without_correction": Case(lambda: readings("none"), _MASS),
    "among_one_another": Case(lambda: readings("two rates", mixed=True), _MASS),
    "standardised": Case(standardised, Change("Titrant", "", "portion_g", 0.0014, "2")),
    "line": Case(line, Change("Calibration", "103", "oxygen_pressure_MPa", 1.2, "103")),
    "line_in_use": Case(line, Change("Calibration", "103", "final_C", 0.004, "2")),
    "entered": Case(entered, Change("Setup", "heat_capacity", "value", -0.0012, "2")),
    "certificate": Case(full, Change("Setup", "benzoic_heat", "value", 9.0, "S1")),
    "contents_dry": Case(lambda: contents("d"), Change("Samples", "S1", "hydrogen", 0.2, "S1")),
    "contents_as_received": Case(lambda: contents("ar", includes="yes"), Change("Samples", "S1", "carbon", -1.0, "S1")),
    "contents_ash_free": Case(lambda: contents("daf"), Change("Samples", "S1", "ash", 0.8, "S1")),
    "liquid": Case(liquid, _RISE),
}
