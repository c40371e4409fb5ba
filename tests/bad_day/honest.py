"""An honest laboratory day by a forward model: charges of known calorific value are fired and logged.

A rise is worked out backwards from the heat that a charge gives:

    heat = mass x value + aid + capsule + wire + thread + nitric acid + sulphuric acid
    rise = heat / heat capacity - heat-exchange correction, rounded to the step of the thermometer

and the titre from the acid: (nitric + 2 x sulphuric) / strength + blank. The scatter of a sample's values on the dry
basis has a standard deviation of r / 2.77 in all: what the rounding of the rise and the scatter of the heat
capacity contribute is taken off the spread that the portions are given.
"""

import datetime as dt
import itertools
import math
import random
from collections.abc import Sequence
from typing import Any

from bad_day.day import (
    CONSTANTS,
    END,
    EXCHANGE,
    FIRING,
    GROSS,
    MASS,
    RISE,
    SAMPLE,
    START,
    TARE,
    TITRE,
    USUAL,
    Bench,
    Day,
    Row,
    Secrets,
    derive,
)
from bad_day.fuels import CLASSES as FUELS
from bad_day.fuels import RICH_IN_NITROGEN, FuelClass, make_sample
from bad_day.own import own_results

CERTIFICATE_J_PER_G = 26434.0
AIR_FACTOR = 1.00076
"""Benzoic acid weighed in air against steel weights: 26 434 J/g in vacuum reads 26 454 J/g."""

WIRE_J_PER_CM = 8.4
THREAD_J_PER_MG = 17.5
NITRIC_KJ_PER_MOL = 59.8
SULPHURIC_KJ_PER_MOL = 301.4
SULPHUR_G_PER_MOL = 32.06
NITROGEN_G_PER_MOL = 14.007
TITRANT_EQ_PER_L = 0.1
BLANK_ML = 0.1
AID, AID_J_PER_G = "paraffin", 46320.0
CAPSULE_J_PER_G = 18930.0
SERIES_FIRINGS = 6
CALIBRATION_SD = 0.0005
"""Relative standard deviation of a benzoic acid firing, before the rounding of the rise."""

CLASSES = tuple(
    FUELS[name]
    for name in ("hard coal", "wood", "lignite", "refuse-derived fuel", "hard coal", "wood", "heavy oil", "lignite")
)


def honest_day(
    seed: int,
    *,
    pairs: int = 12,
    bombs: int | None = None,
    method: str | None = None,
    scheme: str | None = None,
    basis: str | None = None,
    temperatures: str | None = None,
    masses: str | None = None,
    ids: str | None = None,
    own: bool = True,
    formulas: bool = False,
    aid: bool = False,
    capsule: bool = False,
    standardised: bool = False,
    classes: Sequence[FuelClass] = CLASSES,
    bench: Bench = USUAL,
) -> Day:
    """Return a day on which nothing is wrong; what is not said is chosen by the seed.

    ``bombs`` 1 or 2, ``method`` iso-1928 or lab, ``scheme`` total as nitric or sulphur apart, ``basis`` of the
    contents ad or d, ``temperatures`` both, ends or rise, ``masses`` both, weighings or net, ``ids`` dashed, zeros
    or short. ``own`` adds the lab's own result columns, ``formulas`` makes them and the differences formulas.
    ``aid`` burns some samples with paraffin, ``capsule`` the oils in capsules, ``standardised`` adds the
    standardisation of the titrant, ``classes`` are the fuels that follow each other, ``bench`` how it is read.
    """
    rng = random.Random(seed)
    bombs = bombs or rng.choice((1, 2))
    date = _batch_date(rng)
    capacity = {"B1": 10000 + rng.uniform(-120, 120)}
    if bombs == 2:
        capacity["B2"] = capacity["B1"] + rng.choice((-1, 1)) * rng.uniform(60, 120)
    day = Day(
        seed=seed,
        date=date,
        sheets={name: [] for name in ("Setup", "Calibration", "Runs", "Titration", "Samples", "Constants")},
        secrets=Secrets(capacity, {}, _crucibles(rng)),
        own=own,
        titrant=("sodium hydroxide", TITRANT_EQ_PER_L) if standardised else rng.choice(_TITRANTS),
        formulas=formulas,
        temperatures=temperatures or rng.choice(("both", "ends", "rise")),
        masses=masses or rng.choice(("both", "weighings", "net")),
        bench=bench,
    )
    _fill_setup(day, rng, method or rng.choice(("iso-1928", "lab")), scheme, aid=aid, capsule=capsule)
    if standardised:
        _standardise(day, rng)
    _calibrate(day, rng)
    basis = basis or rng.choice(("ad", "d"))
    ids = ids or rng.choice(("dashed", "zeros", "short"))
    for number in range(pairs):
        fuel = classes[number % len(classes)]
        row, value = make_sample(rng, fuel, _sample_no(ids, number, date), basis, date)
        day.add("Samples", row)
        if fuel in RICH_IN_NITROGEN:
            day.secrets.fuel_nitrogen_share[row[SAMPLE]] = rng.uniform(0.05, 0.3)
        day.secrets.gross_d_J_per_g[row[SAMPLE]] = value
    _fire_samples(day, rng, aid=aid, capsule=capsule)
    own_results(day)
    return day


_TITRANTS = (("sodium carbonate", 0.05), ("sodium hydroxide", 0.1), ("barium hydroxide", 0.05))


def _batch_date(rng: random.Random) -> dt.date:
    """Return a working day whose day and month could be exchanged."""
    while True:
        date = dt.date(2026, rng.randint(4, 12), rng.randint(2, 12))
        if date.weekday() < 5 and date.day != date.month:
            return date


def _crucibles(rng: random.Random) -> list[float]:
    """Return five empty crucibles, each at least 30 mg from the others."""
    while True:
        found = sorted(round(rng.uniform(9.6, 12.4), 4) for _ in range(5))
        if all(b - a > 0.03 for a, b in itertools.pairwise(found)):
            rng.shuffle(found)
            return found


def _sample_no(ids: str, number: int, date: dt.date) -> str:
    if ids == "dashed":
        return f"{date.year % 100}-{1107 + 3 * number}"
    return f"{71 + number:04d}" if ids == "zeros" else f"{date.month}-{number + 1}"


def _fill_setup(day: Day, rng: random.Random, method: str, scheme: str | None, *, aid: bool, capsule: bool) -> None:
    since = dt.date(day.date.year, 1, 5)
    own_report = "Own verification report (invented)"
    vacuum = rng.random() < 0.5
    confirmed = method == "iso-1928" and rng.random() < 0.5
    entries: list[tuple[Any, ...]] = [
        ("Laboratory", "Invented laboratory"),
        ("Batch", f"Invented day {day.seed}"),
        ("Batch date", day.date),
        ("Analyst", "First analyst (invented)"),
        ("Reviewer", "Second analyst (invented)"),
        ("Method", method),
        ("Acid scheme", scheme or rng.choice(("total as nitric", "sulphur apart"))),
        ("Comparison basis", "d"),
        ("Further-test rule", "range"),
        ("Repeatability limit", "method", None, "Own controlled copy (invented)", since)
        if confirmed
        else ("Repeatability limit", day.bench.limit_J_per_g, "J/g", own_report, since),
        ("Bases required", "ad, d, ar, daf, net"),
        ("Report unit", "J/g"),
        ("Report rounding", 10),
        ("Benzoic acid heat of combustion", CERTIFICATE_J_PER_G if vacuum else round(CERTIFICATE_J_PER_G * AIR_FACTOR),
         "J/g", "Certificate of benzoic acid lot 7 (invented)", since),
        ("Benzoic acid mass basis", "vacuum" if vacuum else "air", None,
         "Certificate of benzoic acid lot 7 (invented)"),
        ("Wire heat", WIRE_J_PER_CM, "J/cm", "Wire spool 3 (invented)", since),
        ("Thread heat", THREAD_J_PER_MG, "J/mg", "Thread lot 2 (invented)", since),
        ("Nitric acid heat", NITRIC_KJ_PER_MOL, "kJ/mol", "Own table of constants (invented)", since),
        ("Sulphuric acid heat", SULPHURIC_KJ_PER_MOL, "kJ/mol", "Own table of constants (invented)", since),
        ("Series minimum", 5, None, "Own procedure (invented)", since),
        ("Series relative SD limit", 0.2, "%", "Own procedure (invented)", since),
        ("Heat-capacity life", 3, "months", "Own procedure (invented)", since),
        ("Check limit", 0.25, "%", "Own procedure (invented)", since),
        ("Reading resolution", day.bench.step_K, "K", "Thermometer certificate (invented)", since),
        ("Maximum charge energy", 36, "kJ", "Equipment's instructions (invented)", since),
        ("Maximum sample mass", 1.3, "g", "Equipment's instructions (invented)", since),
        ("Maximum oxygen pressure", 3.3, "MPa", "Equipment's instructions (invented)", since),
        ("Minimum oxygen pressure", 2.5, "MPa", "Own procedure (invented)", since),
    ]  # fmt: skip
    if aid:
        entries.append((f"Aid heat [{AID}]", AID_J_PER_G, "J/g", "Certificate of the aid (invented)", since))
    if capsule:
        entries.append(("Capsule heat [capsule]", CAPSULE_J_PER_G, "J/g", "Own aid firings (invented)", since))
    headings = ("Item", "Value", "Unit", "Source", "In force from")
    for entry in entries:
        day.add("Setup", dict(zip(headings, entry, strict=False)))


def _standardise(day: Day, rng: random.Random) -> None:
    day.sheets["Titrant"] = []
    for _ in range(3):
        portion = round(rng.uniform(0.38, 0.45), 4)
        titre = portion * 1000 / 204.22 / TITRANT_EQ_PER_L + BLANK_ML
        day.add("Titrant", {
            "Titrant": "sodium hydroxide", "Standardised on": day.date - dt.timedelta(days=2),
            "Primary standard": "potassium hydrogen phthalate (invented lot)", "Portion (g)": portion,
            "Molar mass": 204.22, "Equivalents per mole": 1, TITRE: round(titre + rng.gauss(0, 0.01), 2),
            "Blank (mL)": BLANK_ML,
        })  # fmt: skip


def _calibrate(day: Day, rng: random.Random) -> None:
    """Fire a series of benzoic acid in each bomb, on three days, and note the heat capacities in use and before."""
    first = day.date - dt.timedelta(days=rng.randint(9, 30))
    days = [first + dt.timedelta(days=index) for index in range(3)]
    charges = {bomb: rng.sample([0.78, 0.85, 0.92, 0.99, 1.06, 1.13], 6) for bomb in day.secrets.capacity_J_per_K}
    for index, date in enumerate(days):
        minutes = 8 * 60 + rng.randint(0, 20)
        for bomb in day.secrets.capacity_J_per_K:
            for repeat in range(SERIES_FIRINGS // 3):
                fire(
                    day, rng, "Calibration", bomb, _benzoic(day) * (1 + rng.gauss(0, CALIBRATION_SD)),
                    date=date, minutes=minutes, nominal_g=charges[bomb][2 * index + repeat], purpose="calibration",
                )  # fmt: skip
                minutes += rng.randint(28, 40)
    for age in (0, 1, 2):
        for bomb, capacity in day.secrets.capacity_J_per_K.items():
            older = round(capacity * (1 + rng.choice((-1, 1)) * rng.uniform(0.003, 0.008)), 1)
            found_on = days[-1] - dt.timedelta(days=84 * age)
            name = f"{bomb}, series before" if age else bomb
            day.add("Constants", dict(zip(CONSTANTS, (name, older, found_on), strict=True)))


def _benzoic(day: Day) -> float:
    """Return the heat of combustion of benzoic acid by the gram of a balance in air (J/g)."""
    value = float(day.setup("Benzoic acid heat of combustion"))
    return value * AIR_FACTOR if day.setup("Benzoic acid mass basis") == "vacuum" else value


def _fire_samples(day: Day, rng: random.Random, *, aid: bool, capsule: bool) -> None:
    bombs = list(day.secrets.capacity_J_per_K)
    samples = day.sheets["Samples"]
    plan: list[tuple[Row | None, str]] = [(None, "") for _ in bombs]
    if rng.random() < 0.5:
        plan += [(row, letter) for row in samples for letter in "AB"]
    else:
        plan += [(row, letter) for letter in "AB" for row in samples]
    minutes = 6 * 60 + 30 + rng.randint(0, 15)
    widest = min(40, round(2 * 900 / len(plan)) - 20)
    for index, (row, letter) in enumerate(plan):
        bomb = bombs[index % len(bombs)]
        if row is None:
            value = _benzoic(day) * (1 + rng.gauss(0, CALIBRATION_SD))
            fire(day, rng, "Runs", bomb, value, minutes=minutes, nominal_g=1.0, purpose="check")
        else:
            with_aid = aid and row["Fuel class"] == "refuse-derived fuel"
            with_capsule = capsule and row["Fuel class"] == "heavy oil"
            fire_sample(day, rng, row, letter, bomb, minutes=minutes, with_aid=with_aid, with_capsule=with_capsule)
        minutes += rng.randint(20, widest)


def fire_sample(
    day: Day,
    rng: random.Random,
    row: Row,
    letter: str,
    bomb: str,
    *,
    minutes: int,
    with_aid: bool = False,
    with_capsule: bool = False,
    offset_J_per_g: float = 0.0,
) -> Row:
    """Fire a portion of a sample whose dry value scatters as the method lets it; returns its row."""
    dry = (100 - row["Moisture, analysis (%)"]) / 100
    value = day.secrets.gross_d_J_per_g[row[SAMPLE]]
    energy = 17000 if with_aid else 26000
    nominal = min(1.2, energy / (value * dry))
    rounding = day.secrets.capacity_J_per_K[bomb] * day.bench.step_K / math.sqrt(12) / (nominal * dry)
    calibration = value * math.hypot(CALIBRATION_SD, day.bench.step_K / math.sqrt(12) / 2.5) / math.sqrt(SERIES_FIRINGS)
    shared = calibration if len(day.secrets.capacity_J_per_K) == 2 else 0.0
    spread = math.sqrt((day.bench.limit_J_per_g / 2.77) ** 2 - rounding**2 - shared**2)
    portion = (value + rng.gauss(0, spread) + offset_J_per_g) * dry
    return fire(
        day, rng, "Runs", bomb, portion, minutes=minutes, nominal_g=nominal, purpose="sample", sample=row,
        letter=letter, with_aid=with_aid, with_capsule=with_capsule,
    )  # fmt: skip


def as_analysed(sample: Row, heading: str) -> float:
    """Return a content of a row of Samples in % as analysed."""
    dry = (100 - sample["Moisture, analysis (%)"]) / 100
    return float(sample[heading]) * (dry if sample["Basis"] == "d" else 1.0)


def sulphur_as_analysed(sample: Row) -> float:
    """Return the sulphur of a row of Samples in % as analysed."""
    return as_analysed(sample, "Sulphur (%)")


def fire(
    day: Day,
    rng: random.Random,
    sheet: str,
    bomb: str,
    value_J_per_g: float,
    *,
    minutes: int,
    nominal_g: float,
    purpose: str,
    date: dt.date | None = None,
    sample: Row | None = None,
    letter: str | None = None,
    with_aid: bool = False,
    with_capsule: bool = False,
) -> Row:
    """Fire a charge of a known value as weighed (J/g) and log it on a sheet and on Titration; returns its row."""
    bench = day.bench
    mass = round(nominal_g * rng.uniform(1 - bench.mass_spread, 1 + bench.mass_spread), 4)
    tare = round(rng.choice(day.secrets.crucibles_g) + rng.gauss(0, 0.0002), 4)
    capsule = round(rng.uniform(0.11, 0.13), 4) if with_capsule else 0.0
    tare = round(tare + capsule, 4)
    aid = round(rng.uniform(0.18, 0.22), 4) if with_aid else 0.0
    left = round(rng.uniform(1.0, 4.0), 1)
    thread = round(rng.uniform(2.5, 4.0), 1)
    nitric = min(0.9, max(0.2, rng.gauss(0.5, 0.12)))
    if sample is not None and sample[SAMPLE] in day.secrets.fuel_nitrogen_share:
        share = day.secrets.fuel_nitrogen_share[sample[SAMPLE]] * rng.gauss(1, 0.05)
        nitric += share * mass * as_analysed(sample, "Nitrogen (%)") / 100 / NITROGEN_G_PER_MOL * 1000
    sulphuric = 0.0 if sample is None else mass * sulphur_as_analysed(sample) / 100 / SULPHUR_G_PER_MOL * 1000
    exchange = round(rng.uniform(-0.003, 0.006), 4)
    heat = (
        mass * value_J_per_g
        + aid * AID_J_PER_G
        + capsule * CAPSULE_J_PER_G
        + (10.0 - left) * WIRE_J_PER_CM
        + thread * THREAD_J_PER_MG
        + nitric * NITRIC_KJ_PER_MOL
        + sulphuric * SULPHURIC_KJ_PER_MOL
    )
    true_rise = round(heat / day.secrets.capacity_J_per_K[bomb] - exchange, 3)
    swing = rng.gauss(0, 0.12)
    water = round(21.8 + 1.6 * (minutes - 390) / 900 + swing, 3)
    begin = water if bench.set_start_C is None else bench.set_start_C + bench.start_swing * swing
    start, end = bench.read_K(begin), bench.read_K(begin + true_rise)
    firing = 4101 + len(day.sheets["Calibration"]) + len(day.sheets["Runs"])
    day.secrets.nitric_mmol[firing] = nitric
    row: Row = {
        FIRING: firing,
        "Date": date or day.date,
        "Time": dt.time(minutes // 60, minutes % 60),
        "Purpose": purpose,
        SAMPLE: None if sample is None else sample[SAMPLE],
        "Replicate": letter,
        "Outcome": "good",
        "Analyst": "A1",
        "Calorimeter": "K1",
        "Bomb": bomb,
        TARE: None if day.masses == "net" else round(tare, bench.mass_decimals),
        GROSS: None if day.masses == "net" else round(tare + mass, bench.mass_decimals),
        MASS: round(mass, bench.mass_decimals) if day.masses == "net" else None,
        "Wire fitted (cm)": 10.0,
        "Wire left (cm)": left,
        "Thread (mg)": thread,
        "Aid": AID if with_aid else None,
        "Aid mass (g)": aid or None,
        "Capsule mass (g)": capsule or None,
        "Water in bomb (mL)": 1.0,
        "Oxygen pressure (MPa)": round(3.0 + rng.uniform(-0.03, 0.03), 2),
        START: None if day.temperatures == "rise" else start,
        END: None if day.temperatures == "rise" else end,
        RISE: bench.read_K(true_rise) if day.temperatures == "rise" else None,
        EXCHANGE: exchange,
        "Washings kept": "yes",
        "Remark": "benzoic acid lot 7" if sample is None else None,
    }
    derive(day, row)
    day.add(sheet, row)
    name, strength = day.titrant
    titre = (nitric + 2 * sulphuric) / TITRANT_EQ_PER_L + BLANK_ML
    day.add("Titration", {
        FIRING: firing, "Titrant": name, "Concentration": strength,
        "Concentration unit": "mol/L", TITRE: round(titre, bench.titre_decimals),
        "Blank (mL)": BLANK_ML,
    })  # fmt: skip
    return row


def another_firing(day: Day, rng: random.Random, sample_no: Any, letter: str, offset_J_per_g: float = 0.0) -> Row:
    """Fire one more portion of a sample after the day's last firing; the lab's own results are not yet worked out."""
    last = max(day.sheets["Runs"], key=lambda row: row["Time"])
    minutes = last["Time"].hour * 60 + last["Time"].minute + rng.randint(20, 30)
    sample = day.find("Samples", SAMPLE, sample_no)
    if sample is None:
        raise LookupError(sample_no)
    return fire_sample(
        day, rng, sample, letter, day.pairs()[sample_no][0]["Bomb"], minutes=minutes,
        offset_J_per_g=offset_J_per_g,
    )  # fmt: skip
