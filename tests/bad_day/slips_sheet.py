"""Slips of the spreadsheet and of the lab's own result columns: units, constants, formulas, cell formats, leftovers."""

import dataclasses
import datetime as dt
import random
from collections.abc import Callable
from typing import Any, Literal

from bad_day.day import (
    END,
    FIRING,
    MASS,
    OWN_AD,
    OWN_D,
    OWN_MEAN,
    OWN_VERDICT,
    RISE,
    SAMPLE,
    TARE,
    Day,
    Formula,
    Recipe,
    Row,
    number,
    shift_rise,
)
from bad_day.honest import another_firing
from bad_day.own import gross_d_J_per_g, own_results
from bad_day.truth import OWN_RUNS, OWN_SAMPLES, Place, Truth, UnfitError, place, shuffled

CALORIE_J = 4.1868
_WRONG_DRY: tuple[Literal["as analysed", "upside down"], ...] = ("as analysed", "upside down")


def _recalculate(day: Day, recipe: Recipe) -> None:
    day.recipe = recipe
    own_results(day)


def _own_places(day: Day) -> tuple[Place, ...]:
    return (
        place(day, "Runs", day.sheets["Runs"], *OWN_RUNS),
        place(day, "Samples", day.sheets["Samples"], *OWN_SAMPLES),
    )


def _recipe_slip(kind: str, number_: int, confidence: str, note: str, **changes: Any) -> Callable[[Day, Any], Truth]:
    def apply(day: Day, rng: random.Random) -> Truth:
        _recalculate(day, dataclasses.replace(day.recipe, **changes))
        return Truth(kind, number_, confidence, _own_places(day), note, recalculated=False)

    return apply


stale_heat_capacity = _recipe_slip(
    "stale_heat_capacity", 4, "A", "own results with the heat capacity of the series before", capacity="older"
)
lost_anchor = _recipe_slip(
    "lost_anchor", 5, "A", "the reference to the heat capacity moves down with each row", capacity="drifting"
)
acid_forgotten = _recipe_slip("acid_forgotten", 8, "A/B", "own results without acid corrections", acid="forgotten")
acid_twice = _recipe_slip(
    "acid_twice", 9, "B", "own results take nitric off by the titre and by 0.12 % of the bomb value too", acid="twice"
)
sulphur_basis = _recipe_slip(
    "sulphur_basis", 11, "B", "own results take dry sulphur for that as analysed", sulphur_as_typed=True
)


def wrong_sulphur_factor(day: Day, rng: random.Random) -> Truth:
    total = day.setup("Acid scheme") == "total as nitric"
    factor = 94.1 if total else 57.0
    _recalculate(day, dataclasses.replace(day.recipe, sulphur_J_per_percent_gram=factor))
    note = f"own results take {factor} J for 1 % of sulphur and 1 g under {day.setup('Acid scheme')}"
    return Truth("wrong_sulphur_factor", 10, "A", _own_places(day), note, recalculated=False)


def wrong_basis_printed(day: Day, rng: random.Random) -> Truth:
    dry = rng.choice(_WRONG_DRY)
    _recalculate(day, dataclasses.replace(day.recipe, dry=dry))
    places = (place(day, "Runs", day.sample_rows(), OWN_D), *_own_places(day)[1:])
    return Truth("wrong_basis_printed", 12, "A", places, f"the dry column is {dry}", recalculated=False)


def _scaled(value: Any, factor: float, decimals: int) -> Any:
    if isinstance(value, Formula):
        stored = value.value if isinstance(value.value, str) or value.value is None else value.value * factor
        return Formula(f"{value.template}*{factor!r}", stored)
    return None if value is None else round(value * factor, decimals)


def _scale_own(day: Day, rows: list[Row], factor: float, decimals: int) -> None:
    for row in rows:
        for heading in OWN_RUNS:
            row[heading] = _scaled(row.get(heading), factor, decimals)


def calories_in_own_column(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Runs"]
    _scale_own(day, rows, 1 / CALORIE_J, 1)
    places = (place(day, "Runs", rows, *OWN_RUNS),)
    return Truth("calories_in_own_column", 1, "A", places, "cal/g under a heading of J/g", recalculated=False)


def calories_in_own_row(day: Day, rng: random.Random) -> Truth:
    rows = [rng.choice(day.sample_rows())]
    _scale_own(day, rows, 1 / CALORIE_J, 1)
    places = (place(day, "Runs", rows, *OWN_RUNS),)
    return Truth("calories_in_own_row", 1, "B", places, "cal/g under a heading of J/g", recalculated=False)


def kilojoules_in_own_rows(day: Day, rng: random.Random) -> Truth:
    rows = rng.sample(day.sample_rows(), rng.randint(1, 4))
    rows.sort(key=lambda row: day.place("Runs", row))
    _scale_own(day, rows, 0.001, 3)
    places = (place(day, "Runs", rows, *OWN_RUNS),)
    return Truth("kilojoules_in_own_rows", 2, "A", places, "kJ/g under a heading of J/g", recalculated=False)


def formula_overtyped(day: Day, rng: random.Random) -> Truth:
    heading = rng.choice((OWN_AD, OWN_D, MASS)) if day.masses == "both" else rng.choice(OWN_RUNS)
    rows = rng.sample([row for row in day.sample_rows() if isinstance(row[heading], Formula)], 2)
    step = 0.0001 if heading == MASS else 1
    for row in rows:
        row[heading] = round(
            number(row, heading) + rng.choice((-1, 1)) * rng.randint(9, 90) * step, 4 if heading == MASS else 0
        )
    if heading == MASS:
        own_results(day)
    rows.sort(key=lambda row: day.place("Runs", row))
    places = (place(day, "Runs", rows, heading),)
    return Truth("formula_overtyped", 6, "A", places, "numbers typed over formulas", recalculated=heading == MASS)


def odd_formula(day: Day, rng: random.Random) -> Truth:
    """In one row the dry value is worked out with another sample's moisture."""
    for row in shuffled(rng, day.sample_rows()):
        sample = day.find("Samples", SAMPLE, row[SAMPLE])
        if sample is None:
            continue
        at = day.place("Samples", sample)
        other = at + 1 if at + 1 < len(day.sheets["Samples"]) else at - 1
        moisture = day.sheets["Samples"][other]["Moisture, analysis (%)"]
        formula = row[OWN_D]
        heading = "Samples!Moisture, analysis (%)"
        template = formula.template.replace(f"{{{heading}@{at}}}", f"{{{heading}@{other}}}")
        row[OWN_D] = Formula(template, number(row, OWN_AD) * 100 / (100 - moisture))
        places = (place(day, "Runs", [row], OWN_D),)
        return Truth("odd_formula", 7, "A", places, "moisture of the neighbouring sample", recalculated=False)
    raise UnfitError


def calories_in_setup(day: Day, rng: random.Random) -> Truth:
    row = day.setup_row("Benzoic acid heat of combustion")
    row["Value"] = round(row["Value"] / CALORIE_J, 1)
    own_results(day)
    note = f"{row['Item']} in calories beside the unit {row['Unit']}"
    return Truth("calories_in_setup", 1, "A", (place(day, "Setup", [row], "Value"),), note)


def thousand_in_setup(day: Day, rng: random.Random) -> Truth:
    row = day.setup_row("Benzoic acid heat of combustion")
    row["Value"] = row["Value"] / 1000
    own_results(day)
    return Truth("thousand_in_setup", 2, "A", (place(day, "Setup", [row], "Value"),), "kJ/g beside the unit J/g")


def calorie_definition(day: Day, rng: random.Random) -> Truth:
    """The certificate is entered in international calories and Setup calls them thermochemical."""
    row = day.setup_row("Benzoic acid heat of combustion")
    row["Value"], row["Unit"] = round(row["Value"] / CALORIE_J, 2), "cal/g"
    added = day.add("Setup", {"Item": "Calorie", "Value": "thermochemical"})
    places = (place(day, "Setup", [row], "Value", "Unit"),)
    note = "certificate in international calories, Calorie says thermochemical: 0.067 % low"
    return Truth("calorie_definition", 3, "B", places, note, recalculated=False, added=(added["#"],))


def benzoic_of_previous_lot(day: Day, rng: random.Random) -> Truth:
    row = day.setup_row("Benzoic acid heat of combustion")
    was = row["Value"]
    row["Value"] = was + rng.choice((-1, 1)) * rng.randint(25, 60)
    row["Source"] = "Certificate of benzoic acid lot 6 (invented)"
    own_results(day)
    note = f"{row['Value']} of lot 6; the pellets are of lot 7 ({was}), as the remarks say"
    return Truth("benzoic_of_previous_lot", 47, "A", (place(day, "Setup", [row], "Value", "Source"),), note)


def sample_number_as_date(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    was = row[SAMPLE]
    month, day_of_month = (int(part) for part in was.split("-"))
    row[SAMPLE] = dt.date(day.date.year, month, day_of_month)
    own_results(day)
    return Truth("sample_number_as_date", 24, "A", (place(day, "Runs", [row], SAMPLE),), f"{was} became a date")


def leading_zeros_lost(day: Day, rng: random.Random) -> Truth:
    rows = [rng.choice(day.sample_rows())] if rng.random() < 0.5 else day.sample_rows()
    note = f"{rows[0][SAMPLE]} became {int(rows[0][SAMPLE])}"
    for row in rows:
        row[SAMPLE] = int(row[SAMPLE])
    own_results(day)
    return Truth("leading_zeros_lost", 24, "A", (place(day, "Runs", rows, SAMPLE),), note)


def _spread_pair(day: Day, rng: random.Random, fits: Callable[[float, float], bool]) -> tuple[Row, Row, Row]:
    """Let a pair scatter, as honest pairs now and then do, until its two values fit; returns sample, A and B."""
    for sample, (a, b, *_) in shuffled(rng, list(day.pairs().items())):
        for steps in shuffled(rng, range(-40, 41)):
            shift_rise(day, b, steps * 0.001)
            if fits(gross_d_J_per_g(day, a), gross_d_J_per_g(day, b)):
                own_results(day)
                row = day.find("Samples", SAMPLE, sample)
                if row is not None:
                    return row, a, b
            shift_rise(day, b, -steps * 0.001)
    raise UnfitError


def rounded_before_comparing(day: Day, rng: random.Random) -> Truth:
    step, limit = rng.choice((20.0, 50.0, 100.0)), day.limit_J_per_g()

    def hidden(a: float, b: float) -> bool:
        rounded = abs(int(a / step + 0.5) - int(b / step + 0.5)) * step
        return abs(a - b) > limit + 2 and rounded <= limit

    sample, _, b = _spread_pair(day, rng, hidden)
    _recalculate(day, dataclasses.replace(day.recipe, rounded_before_comparing_J_per_g=step))
    places = (
        place(day, "Samples", [sample], OWN_VERDICT, OWN_MEAN),
        place(day, "Samples", day.sheets["Samples"], OWN_VERDICT, OWN_MEAN),
        place(day, "Runs", [b], END, RISE, *OWN_RUNS),
    )
    note = f"{sample[SAMPLE]} agrees only when rounded to {step:g} J/g"
    return Truth("rounded_before_comparing", 29, "A", places, note, recalculated=False)


def outlier_averaged(day: Day, rng: random.Random) -> Truth:
    limit = day.limit_J_per_g()
    sample, a, b = _spread_pair(day, rng, lambda x, y: 1.5 * limit < abs(x - y) < 4 * limit)
    mean = (gross_d_J_per_g(day, a) + gross_d_J_per_g(day, b)) / 2
    cells = ",".join(f"{{Runs!{OWN_D}@{day.place('Runs', row)}}}" for row in (a, b))
    sample[OWN_MEAN] = Formula(f"=AVERAGE({cells})", mean) if day.formulas else round(mean)
    places = (place(day, "Samples", [sample], OWN_MEAN, OWN_VERDICT), place(day, "Runs", [b], END, RISE, *OWN_RUNS))
    note = f"mean of {sample[SAMPLE]} taken although its firings disagree"
    return Truth("outlier_averaged", 30, "A", places, note, recalculated=False)


def outlier_dropped(day: Day, rng: random.Random) -> Truth:
    """Of three firings the mean is that of two; nothing on the sheet says why."""
    limit = day.limit_J_per_g()
    sample, a, b = _spread_pair(day, rng, lambda x, y: 2.5 * limit < abs(x - y) < 4 * limit)
    offset = gross_d_J_per_g(day, a) - day.secrets.gross_d_J_per_g[sample[SAMPLE]]
    while True:
        c = another_firing(day, rng, sample[SAMPLE], "C", offset)
        own_results(day)
        if abs(gross_d_J_per_g(day, a) - gross_d_J_per_g(day, c)) < 0.8 * limit:
            break
        day.sheets["Runs"].remove(c)
        day.sheets["Titration"].pop()
    kept = [gross_d_J_per_g(day, row) for row in (a, c)]
    cells = ",".join(f"{{Runs!{OWN_D}@{day.place('Runs', row)}}}" for row in (a, c))
    mean = sum(kept) / 2
    sample[OWN_MEAN] = Formula(f"=AVERAGE({cells})", mean) if day.formulas else round(mean)
    sample[OWN_VERDICT] = "agree"
    places = (
        place(day, "Samples", [sample], OWN_MEAN, OWN_VERDICT),
        place(day, "Runs", [b], END, RISE, *OWN_RUNS),
    )
    added = (c["#"], day.sheets["Titration"][-1]["#"])
    note = f"firing {b[FIRING]} of {sample[SAMPLE]} is not in the mean"
    return Truth("outlier_dropped", 31, "A/B", places, note, recalculated=False, added=added)


def struck_row_counted(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    day.struck.add(row["#"])
    return Truth("struck_row_counted", 33, "A", (place(day, "Runs", [row]),), "struck through, Use blank")


def hidden_row_counted(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    day.hidden.add(row["#"])
    return Truth("hidden_row_counted", 33, "A", (place(day, "Runs", [row]),), "row hidden, Use blank")


def mean_row(day: Day, rng: random.Random) -> Truth:
    values = [number(row, OWN_D) for row in day.sample_rows()]
    label = rng.choice(("mean", "Average", "Mittelwert"))
    row = day.add("Runs", {FIRING: label, OWN_D: round(sum(values) / len(values))})
    return Truth("mean_row", 34, "A", (place(day, "Runs", [row]),), f"a row labelled {label}", added=(row["#"],))


def old_row_left(day: Day, rng: random.Random) -> Truth:
    old = dict(rng.choice(day.sample_rows()))
    old[FIRING] -= 400
    old["Date"] = day.date - dt.timedelta(days=rng.randint(5, 60))
    titre = dict(day.find("Titration", FIRING, old[FIRING] + 400) or {})
    titre[FIRING] = old[FIRING]
    if rng.random() < 0.5:
        old[SAMPLE] = f"{day.date.year % 100}-0988"
    row = day.add("Runs", old)
    added = (row["#"], day.add("Titration", titre)["#"])
    own_results(day)
    note = f"a row of {row['Date']} left in the template under {row[SAMPLE]}"
    return Truth("old_row_left", 35, "A", (place(day, "Runs", [row]),), note, added=added)


def result_without_inputs(day: Day, rng: random.Random) -> Truth:
    pattern = rng.choice(day.sample_rows())
    row = day.add("Runs", {
        FIRING: 4101 + len(day.sheets["Calibration"]) + len(day.sheets["Runs"]), "Date": day.date,
        SAMPLE: pattern[SAMPLE], "Replicate": "C", "Calorimeter": "K1", "Bomb": pattern["Bomb"],
        OWN_AD: round(number(pattern, OWN_AD) - 31), OWN_D: round(number(pattern, OWN_D) - 32),
    })  # fmt: skip
    note = "own results of an earlier day, no weighings or temperatures"
    places = (place(day, "Runs", [row]),)
    return Truth("result_without_inputs", 35, "A", places, note, recalculated=False, added=(row["#"],))


def formula_not_calculated(day: Day, rng: random.Random) -> Truth:
    rows = rng.sample(day.sample_rows(), 3)
    rows.sort(key=lambda row: day.place("Runs", row))
    for row in rows:
        row[MASS] = Formula(row[MASS].template, None)
    return Truth(
        "formula_not_calculated", 36, "A", (place(day, "Runs", rows, MASS),), "no stored value", recalculated=False
    )


def error_cell(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    error = rng.choice(("#REF!", "#DIV/0!", "#VALUE!", "#N/A"))
    template = {"#REF!": "=#REF!", "#DIV/0!": "=1/0", "#VALUE!": f'="a"-{{{TARE}}}', "#N/A": "=NA()"}[error]
    row[MASS] = Formula(template, error)
    own_results(day)
    return Truth("error_cell", 36, "A", (place(day, "Runs", [row], MASS),), error)
