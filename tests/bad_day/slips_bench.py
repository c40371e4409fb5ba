"""Slips in what is typed at the bench: weighings, temperatures, wire, titres, numbers of samples and bombs."""

import random
from typing import Any

from bad_day.day import (
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
    Day,
    Row,
    derive,
    mass_g,
    number,
    rise_K,
    shift_rise,
)
from bad_day.honest import another_firing, sulphur_as_analysed
from bad_day.own import gross_d_J_per_g, own_results
from bad_day.truth import Truth, UnfitError, first, mass_columns, place, rise_columns, shuffled


def _pair(day: Day, rng: random.Random) -> tuple[Any, Row, Row]:
    sample, rows = rng.choice([(sample, rows) for sample, rows in day.pairs().items() if len(rows) == 2])
    return sample, rows[0], rows[1]


def _titration(day: Day, row: Row) -> Row:
    found = day.find("Titration", FIRING, row[FIRING])
    if found is None:
        raise UnfitError
    return found


def copied_replicate(day: Day, rng: random.Random) -> Truth:
    sample, a, b = _pair(day, rng)
    columns = [*mass_columns(a), "Wire left (cm)", "Thread (mg)", *rise_columns(a), EXCHANGE]
    for heading in columns:
        b[heading] = a[heading]
    titre = _titration(day, b)
    titre[TITRE] = _titration(day, a)[TITRE]
    own_results(day)
    places = (place(day, "Runs", [b], *columns), place(day, "Titration", [titre], TITRE))
    return Truth("copied_replicate", 15, "A", places, f"B of {sample} is a copy of A")


def copied_digit_altered(day: Day, rng: random.Random) -> Truth:
    sample, a, b = _pair(day, rng)
    columns = [*mass_columns(a), "Wire left (cm)", "Thread (mg)", *rise_columns(a), EXCHANGE]
    for heading in columns:
        b[heading] = a[heading]
    heading = GROSS if b.get(GROSS) is not None else MASS
    digits = f"{number(b, heading):.4f}"
    at = rng.choice((-1, -2))
    other = str((int(digits[at]) + rng.randint(1, 9)) % 10)
    b[heading] = float(digits[: len(digits) + at] + other + digits[len(digits) + at + 1 :])
    derive(day, b)
    titre = _titration(day, b)
    titre[TITRE] = _titration(day, a)[TITRE]
    own_results(day)
    places = (place(day, "Runs", [b], *columns), place(day, "Titration", [titre], TITRE))
    return Truth(
        "copied_digit_altered", 16, "A", places, f"B of {sample} is a copy of A with one digit of {heading} altered"
    )


def masses_exchanged(day: Day, rng: random.Random) -> Truth:
    for sample, (a, b, *_) in shuffled(rng, list(day.pairs().items())):
        if abs(mass_g(a) - mass_g(b)) / mass_g(a) * gross_d_J_per_g(day, a) > 3 * day.limit_J_per_g():
            columns = mass_columns(a)
            for heading in columns:
                a[heading], b[heading] = b[heading], a[heading]
            own_results(day)
            return Truth("masses_exchanged", 17, "B", (place(day, "Runs", [a, b], *columns),), f"A and B of {sample}")
    raise UnfitError


def _shift(day: Day, rng: random.Random, rows: list[Row], column: str, kind: str) -> Truth:
    sheet = "Titration" if column == TITRE else "Runs"
    start = rng.randint(3, max(3, len(rows) - 8))
    values = [row[column] for row in rows]
    for index in range(start, len(rows)):
        rows[index][column] = values[index - 1]
    own_results(day)
    note = f"one value typed twice, all from here one row too low, the last ({values[-1]}) lost"
    return Truth(kind, 18, "A", (place(day, sheet, rows[start:], column),), note)


def row_shift_mass(day: Day, rng: random.Random) -> Truth:
    return _shift(day, rng, day.sample_rows(), MASS, "row_shift_mass")


def row_shift_rise(day: Day, rng: random.Random) -> Truth:
    return _shift(day, rng, day.sample_rows(), RISE, "row_shift_rise")


def row_shift_titre(day: Day, rng: random.Random) -> Truth:
    rows = [_titration(day, row) for row in day.sample_rows()]
    return _shift(day, rng, rows, TITRE, "row_shift_titre")


def partial_sort(day: Day, rng: random.Random) -> Truth:
    rows = day.sample_rows()
    columns = [*rise_columns(rows[0]), EXCHANGE]
    blocks = sorted(([row[heading] for heading in columns] for row in rows), key=str)
    for row, block in zip(rows, blocks, strict=True):
        row.update(zip(columns, block, strict=True))
    own_results(day)
    return Truth("partial_sort", 19, "B", (place(day, "Runs", rows, *columns),), "temperatures sorted, the rest left")


def transposed_digit(day: Day, rng: random.Random) -> Truth:
    heading, decimals, low, high = rng.choice([(MASS, 4, 0.3, 1.3), (RISE, 3, 1.0, 5.0)])
    for row in shuffled(rng, day.sample_rows()):
        value = number(row, heading)
        digits = f"{value:.{decimals}f}".replace(".", "")
        for at in shuffled(rng, range(len(digits) - 1)):
            swapped = int(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]) / 10**decimals
            if low < swapped < high and abs(swapped / value - 1) * gross_d_J_per_g(day, row) > 14 * day.limit_J_per_g():
                row[heading] = swapped
                own_results(day)
                note = f"{value} typed as {swapped}"
                return Truth("transposed_digit", 20, "C/B", (place(day, "Runs", [row], heading),), note)
    raise UnfitError


def decimal_slip(day: Day, rng: random.Random) -> Truth:
    heading, decimals = (MASS, 4) if day.masses == "net" and rng.random() < 0.5 else (RISE, 3)
    row = rng.choice(day.sample_rows())
    value, factor = number(row, heading), rng.choice((0.1, 10, 10**decimals))
    row[heading] = round(value * factor, 5)
    own_results(day)
    return Truth("decimal_slip", 21, "A", (place(day, "Runs", [row], heading),), f"{value} typed as {row[heading]}")


def decimal_comma(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    value = number(row, RISE)
    row[RISE] = f"{value:.3f}".replace(".", ",")
    own_results(day)
    return Truth("decimal_comma", 21, "A", (place(day, "Runs", [row], RISE),), f"{value} typed as text {row[RISE]!r}")


def wrong_crucible_tare(day: Day, rng: random.Random) -> Truth:
    row = rng.choice([row for row in day.sample_rows() if row.get("Capsule mass (g)") is None])
    others = [tare for tare in day.secrets.crucibles_g if abs(tare - number(row, TARE)) > 0.02]
    near = min(others, key=lambda tare: (mass_g(row) + number(row, TARE) - tare <= 0, abs(tare - number(row, TARE))))
    was = number(row, TARE)
    row[TARE] = round(near + rng.gauss(0, 0.0002), 4)
    derive(day, row)
    columns = [TARE, MASS] if day.masses == "both" else [TARE]
    own_results(day)
    note = f"tare of another crucible, {row[TARE]} for {was}"
    return Truth("wrong_crucible_tare", 22, "A/B", (place(day, "Runs", [row], *columns),), note)


def net_disagrees(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    was = number(row, MASS)
    row[MASS] = round(was + rng.choice((-1, 1)) * rng.randint(3, 60) / 10000, 4)
    own_results(day)
    return Truth("net_disagrees", 23, "A", (place(day, "Runs", [row], MASS),), f"{was} typed as {row[MASS]}")


def typo_in_sample_number(day: Day, rng: random.Random) -> Truth:
    known = set(day.pairs())
    for row in shuffled(rng, day.sample_rows()):
        name = row[SAMPLE]
        wrong = name[:-1] + str((int(name[-1]) + rng.randint(1, 9)) % 10)
        if wrong not in known:
            row[SAMPLE] = wrong
            own_results(day)
            note = f"{name} typed as {wrong}"
            return Truth("typo_in_sample_number", 25, "B", (place(day, "Runs", [row], SAMPLE),), note)
    raise UnfitError


def one_number_for_two_samples(day: Day, rng: random.Random) -> Truth:
    values = day.secrets.gross_d_J_per_g
    for x, y in ((x, y) for x in shuffled(rng, list(values)) for y in values):
        if x != y and abs(values[x] - values[y]) > 12 * day.limit_J_per_g():
            rows = day.pairs()[y]
            for row in rows:
                row[SAMPLE] = x
            own_results(day)
            note = f"firings of {y} stand under {x}"
            return Truth("one_number_for_two_samples", 26, "B", (place(day, "Runs", rows, SAMPLE),), note)
    raise UnfitError


def bomb_mixed(day: Day, rng: random.Random) -> Truth:
    bombs = list(day.secrets.capacity_J_per_K)
    row = rng.choice(day.sample_rows())
    was = row["Bomb"]
    row["Bomb"] = first([bomb for bomb in bombs if bomb != was])
    own_results(day)
    return Truth(
        "bomb_mixed", 27, "B", (place(day, "Runs", [row], "Bomb"),), f"fired in {was}, logged as {row['Bomb']}"
    )


def part_exchanged_between_bombs(day: Day, rng: random.Random) -> Truth:
    bomb = rng.choice(list(day.secrets.capacity_J_per_K))
    rows = [row for row in day.sheets["Runs"] if row["Bomb"] == bomb]
    columns = [heading for heading in (END, RISE) if rows[0].get(heading) is not None]
    share = rng.choice((-1, 1)) * rng.uniform(0.004, 0.007)
    for row in rows:
        shift_rise(day, row, round(-share * rise_K(row), 3))
    own_results(day)
    note = f"heat capacity of {bomb} is {100 * share:.2f} % from its series since this morning"
    return Truth("part_exchanged_between_bombs", 28, "B", (place(day, "Runs", rows, *columns),), note)


def start_copied(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Runs"]
    index = rng.randint(2, len(rows) - 1)
    source = rng.choice((START, END))
    if abs(number(rows[index - 1], START) - number(rows[index], START)) < 0.02:
        source = END
    rows[index][START] = number(rows[index - 1], source)
    own_results(day)
    note = f"start is the {'start' if source == START else 'end'} of the row above"
    return Truth("start_copied", 38, "B", (place(day, "Runs", [rows[index]], START),), note)


def wire_left_longer(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    columns = ("Wire left (cm)", "Wire fitted (cm)")
    row[columns[0]], row[columns[1]] = row[columns[1]], row[columns[0]]
    own_results(day)
    return Truth("wire_left_longer", 40, "A", (place(day, "Runs", [row], *columns),), "fitted and left exchanged")


def wire_in_millimetres(day: Day, rng: random.Random) -> Truth:
    row = rng.choice(day.sample_rows())
    columns = ("Wire left (cm)", "Wire fitted (cm)") if rng.random() < 0.5 else ("Wire left (cm)",)
    for heading in columns:
        row[heading] = round(10 * number(row, heading))
    own_results(day)
    return Truth("wire_in_millimetres", 41, "A", (place(day, "Runs", [row], *columns),), "mm typed in a column of cm")


def aid_forgotten(day: Day, rng: random.Random) -> Truth:
    row = rng.choice([row for row in day.sample_rows() if row["Aid"]])
    note = f"{row['Aid mass (g)']} g of {row['Aid']} burnt and not logged"
    row["Aid"] = row["Aid mass (g)"] = None
    own_results(day)
    return Truth("aid_forgotten", 42, "B", (place(day, "Runs", [row], "Aid", "Aid mass (g)"),), note)


def aid_entered_as_sample(day: Day, rng: random.Random) -> Truth:
    row = rng.choice([row for row in day.sample_rows() if row["Aid"]])
    heading = MASS if day.masses == "net" else GROSS
    note = f"{row['Aid mass (g)']} g of {row['Aid']} logged as sample"
    row[heading] = round(number(row, heading) + row["Aid mass (g)"], 4)
    row["Aid"] = row["Aid mass (g)"] = None
    derive(day, row)
    columns = ["Aid", "Aid mass (g)", *mass_columns(row)]
    own_results(day)
    return Truth("aid_entered_as_sample", 42, "B", (place(day, "Runs", [row], *columns),), note)


def capsule_not_subtracted(day: Day, rng: random.Random) -> Truth:
    row = rng.choice([row for row in day.sample_rows() if row["Capsule mass (g)"]])
    capsule = row["Capsule mass (g)"]
    if day.masses == "net":
        row[MASS] = round(number(row, MASS) + capsule, 4)
    else:
        row[TARE] = round(number(row, TARE) - capsule, 4)
        derive(day, row)
    own_results(day)
    note = f"sample mass holds the {capsule} g of the capsule"
    return Truth("capsule_not_subtracted", 43, "B", (place(day, "Runs", [row], *mass_columns(row)),), note)


def titres_missing(day: Day, rng: random.Random) -> Truth:
    rows = [_titration(day, row) for row in day.sample_rows()]
    if rng.random() < 0.5:
        rows = [rng.choice(rows)]
    for row in rows:
        row[TITRE] = None
    own_results(day)
    note = "titre blank; the calibration had titres"
    return Truth("titres_missing", 8, "A/B", (place(day, "Titration", rows, TITRE),), note)


def concentration_doubled_or_halved(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Titration"]
    if rng.random() < 0.5:
        runs = {row[FIRING] for row in day.sheets["Runs"]}
        rows = [row for row in rows if row[FIRING] in runs]
    factor = rng.choice((0.5, 2))
    for row in rows:
        row["Concentration"] = row["Concentration"] * factor
    own_results(day)
    note = f"strength {factor} times the true one"
    return Truth("concentration_doubled_or_halved", 45, "B", (place(day, "Titration", rows, "Concentration"),), note)


def titrant_of_old_bottle(day: Day, rng: random.Random) -> Truth:
    rows = day.sheets["Titration"]
    strength = round(rows[0]["Concentration"] * (1 + rng.choice((-1, 1)) * rng.uniform(0.03, 0.08)), 4)
    for row in rows:
        row["Concentration"] = strength
    own_results(day)
    note = "strength of an older bottle; the standardisation on Titrant says otherwise"
    return Truth("titrant_of_old_bottle", 44, "A", (place(day, "Titration", rows, "Concentration"),), note)


def nitric_negative(day: Day, rng: random.Random) -> Truth:
    for row in shuffled(rng, day.sample_rows()):
        sample = day.find("Samples", SAMPLE, row[SAMPLE])
        if sample is None:
            continue
        needed = 2 * mass_g(row) * sulphur_as_analysed(sample) / 100 / 32.06 * 1000 / 0.1
        if needed > 2:
            titre = _titration(day, row)
            was = titre[TITRE]
            titre[TITRE] = round(titre["Blank (mL)"] + needed * rng.uniform(0.4, 0.85), 2)
            own_results(day)
            places = (place(day, "Titration", [titre], TITRE),)
            return Truth(
                "nitric_negative", 46, "B", places, f"titre {titre[TITRE]} for {was}, below that of the sulphur"
            )
    raise UnfitError


def outlier_taken_out(day: Day, rng: random.Random) -> Truth:
    """An outlying firing is deleted: its number is missing."""
    sample, _, b = _pair(day, rng)
    third = another_firing(day, rng, sample, "B")
    titre = _titration(day, b)
    day.sheets["Runs"].remove(b)
    day.sheets["Titration"].remove(titre)
    own_results(day)
    added = (third["#"], _titration(day, third)["#"])
    note = f"firing {b[FIRING]} of {sample} deleted, {third[FIRING]} stands as B"
    places = (place(day, "Runs", [third]),)
    return Truth("outlier_taken_out", 31, "A/B", places, note, added=added, removed=(b["#"], titre["#"]))
