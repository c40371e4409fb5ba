"""Slips in the records: moistures, composition, dates, times and signatures."""

import datetime as dt
import random

from bad_day.day import SAMPLE, Day
from bad_day.own import own_results
from bad_day.truth import Truth, UnfitError, place, shuffled

MOISTURE, TOTAL = "Moisture, analysis (%)", "Moisture, total (%)"
HYGROSCOPIC = ("wood", "lignite", "refuse-derived fuel")


def moistures_swapped(day: Day, rng: random.Random) -> Truth:
    row = rng.choice([row for row in day.sheets["Samples"] if row["Fuel class"] != "heavy oil"])
    row[MOISTURE], row[TOTAL] = row[TOTAL], row[MOISTURE]
    own_results(day)
    return Truth("moistures_swapped", 13, "B", (place(day, "Samples", [row], MOISTURE, TOTAL),), row[SAMPLE])


def moisture_of_another_day(day: Day, rng: random.Random) -> Truth:
    rows = [row for row in day.sheets["Samples"] if row["Fuel class"] in HYGROSCOPIC]
    rows = [rng.choice(rows)] if rng.random() < 0.5 else rows
    gap = rng.randint(3, 25)
    for row in rows:
        row["Moisture date"] = day.date - dt.timedelta(days=gap)
    places = (place(day, "Samples", rows, "Moisture date"),)
    return Truth("moisture_of_another_day", 14, "A", places, f"{gap} days before the firings")


def hydrogen_with_moisture(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Samples"]
    for row in rows:
        row["Hydrogen (%)"] = round(row["Hydrogen (%)"] + 0.1119 * row[MOISTURE], 2)
    note = "hydrogen holds that of the moisture, the sheet says it does not"
    return Truth("hydrogen_with_moisture", 48, "C/B", (place(day, "Samples", rows, "Hydrogen (%)"),), note)


def hydrogen_default(day: Day, rng: random.Random) -> Truth:
    rows = [row for row in day.sheets["Samples"] if row["Fuel class"] != "heavy oil"]
    rows = rows[: rng.randint(4, len(rows))]
    for row in rows:
        row["Hydrogen (%)"] = 5.0
    return Truth(
        "hydrogen_default", 49, "B", (place(day, "Samples", rows, "Hydrogen (%)"),), "one value for many samples"
    )


def sum_over_hundred(day: Day, rng: random.Random) -> Truth:
    for row in shuffled(rng, day.sheets["Samples"]):
        if row["Volatile matter (%)"] is None:
            continue
        moisture = row[MOISTURE] if row["Basis"] == "ad" else 0.0
        heading = rng.choice(("Volatile matter (%)", "Oxygen (%)"))
        if heading == "Oxygen (%)":
            row[heading] = round(row[heading] + rng.uniform(6, 14), 2)
        else:
            row[heading] = round(100 - moisture - row["Ash (%)"] + rng.uniform(1.5, 6), 2)
        return Truth(
            "sum_over_hundred", 50, "A", (place(day, "Samples", [row], heading),), f"{row[SAMPLE]}: the sum is over 100"
        )
    raise UnfitError


def impossible_timing(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Runs"]
    index = rng.randint(2, len(rows) - 1)
    before = dt.datetime.combine(day.date, rows[index - 1]["Time"])
    rows[index]["Time"] = (before + dt.timedelta(minutes=rng.randint(1, 6))).time()
    note = "fired minutes after the one before, in the same bomb"
    return Truth("impossible_timing", 55, "A/B", (place(day, "Runs", [rows[index]], "Time"),), note)


def day_and_month_swapped(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Runs"]
    row = rows[rng.randint(1, len(rows) - 2)]
    row["Date"] = dt.date(day.date.year, day.date.day, day.date.month)
    note = f"{day.date} read as {row['Date']}"
    return Truth("day_and_month_swapped", 56, "B", (place(day, "Runs", [row], "Date"),), note)


def reviewer_is_analyst(day: Day, rng: random.Random) -> Truth:
    row = day.setup_row("Reviewer")
    row["Value"] = day.setup("Analyst")
    return Truth("reviewer_is_analyst", 58, "A", (place(day, "Setup", [row], "Value"),), "one person did both")
