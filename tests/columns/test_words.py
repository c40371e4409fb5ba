"""Every heading variant on record: unambiguous ones propose their field, doubtful ones ask, short ones are never taken.

The variants are usage of the trade (common practice, no source); what is tested here is that they are used as they
are marked. The kinds of figures are those that a laboratory logs; none is taken from the program's own table.
"""

import csv
import datetime as dt
from pathlib import Path

import pytest

from batchcal.reference import headings as known
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.arithmetic import roles
from batchcal.workbook.columns.column_map import OPEN
from batchcal.workbook.columns.decide import Decision, decide, settle_basis, settle_unit
from batchcal.workbook.columns.evidence import Seen, see
from batchcal.workbook.columns.fields import FIELDS
from batchcal.workbook.columns.grammar import parse
from batchcal.workbook.columns.variants import look_up

FILE = Path(known.__file__).with_name("heading_variants.csv")
ROWS = list(csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()))
READ_BY_US = {"en", "de", "fr", "es", "it", "nl", "pt"}

NUMBERS = {
    "sample_mass": (0.9876, 1.0123, 0.9954), "crucible_plus_sample": (12.4321, 13.0011, 12.8123),
    "crucible_mass": (11.4445, 12.0001, 11.8169), "initial_temp": (22.345, 23.012, 22.871),
    "final_temp": (24.901, 25.444, 25.013), "rise": (2.556, 2.432, 2.142), "rise_corrected": (2.553, 2.431, 2.139),
    "heat_exchange_corr": (-0.0031, 0.0022, -0.0012), "wire_left": (2.3, 1.7, 4.1), "wire_initial": (10.0, 10.0, 9.8),
    "wire_burned": (7.7, 8.3, 5.9), "ignition_energy": (71.2, 80.1, 66.4), "thread_mass": (3.1, 2.8, 3.3),
    "aid_mass": (0.1234, 0.1311, 0.1275), "capsule_mass": (0.1122, 0.1098, 0.1131),
    "aid_energy": (3200.0, 3344.0, 3290.0),
    "titre": (5.25, 6.1, 5.75), "titrant_factor": (0.998, 1.002, 1.001), "titrant_conc": (0.1001, 0.1001, 0.0998),
    "titre_second": (8.2, 7.7, 8.9), "titre_blank": (0.1, 0.15, 0.1), "sulphur": (0.45, 1.23, 0.81),
    "moisture_ad": (4.1, 3.3, 5.2), "moisture_total": (9.1, 12.2, 10.4), "ash": (11.2, 8.7, 14.1),
    "hydrogen": (4.9, 5.1, 4.7), "nitrogen": (1.3, 1.4, 1.2), "oxygen_content": (8.8, 9.2, 7.9),
    "chlorine": (0.02, 0.11, 0.05), "volatiles": (31.0, 28.4, 33.3), "oxygen_pressure": (3.0, 3.0, 2.9),
    "heat_capacity": (10124.0, 10087.0, 10102.0), "gross_cv": (26543.0, 27001.0, 25877.0),
    "net_cv": (25432.0, 26011.0, 24874.0), "bucket_water": (2000.0, 2000.1, 1999.9), "bomb_water": (5.0, 5.0, 1.0),
    "jacket_temp": (25.1, 25.0, 25.2), "room_temp": (21.3, 21.7, 21.9), "fore_drift": (0.001, 0.0012, 0.0009),
    "after_drift": (-0.0003, 0.0001, -0.0002), "certified_cv": (26454.0, 26454.0, 26454.0),
    "difference": (35.0, 62.0, 12.0), "mean": (26772.0, 26439.0, 26160.0),
}  # fmt: skip
TEXTS = {
    "sample_id": ("K-101", "K-102", "K-103"), "replicate": ("A", "B", "C"), "run_no": ("41", "42", "43"),
    "analyst": ("MO", "KL", "PR"), "checker": ("KL", "MO", "MO"), "bomb_id": ("B1", "B2", "B1"),
    "calorimeter_id": ("C1", "C1", "C2"), "crucible_id": ("t1", "t7", "t3"), "residue": ("none", "soot", "none"),
    "fuel_type": ("coal", "wood", "lignite"), "remark": ("relit", "", "late"),
}  # fmt: skip
USUAL_UNITS = {
    "sample_mass": "g", "crucible_plus_sample": "g", "crucible_mass": "g", "initial_temp": "°C", "final_temp": "°C",
    "rise": "K", "heat_exchange_corr": "K", "wire_left": "cm", "wire_initial": "cm", "wire_burned": "mg",
    "thread_mass": "mg", "aid_mass": "g", "capsule_mass": "g", "titre": "mL", "titre_blank": "mL", "bomb_water": "mL",
    "oxygen_pressure": "MPa", "heat_capacity": "J/K", "gross_cv": "J/g", "net_cv": "J/g", "mean": "J/g",
}  # fmt: skip


def cells_of(field: str) -> list[Cell]:
    if field == "date":
        return [Cell(CellKind.DATE, dt.datetime(2026, 10, day)) for day in (12, 13, 14)]
    if field == "time":
        return [Cell(CellKind.TIME, dt.time(hour, 15)) for hour in (9, 10, 11)]
    if field in TEXTS:
        return [Cell(CellKind.TEXT, text) for text in TEXTS[field] if text]
    return [Cell(CellKind.NUMBER, value) for value in NUMBERS[field]]


IN_UNIT = {
    "bar": 10.0, "atm": 9.869, "kcal/kg": 1 / 4.1868, "cal/g": 1 / 4.1868, "MJ/kg": 1e-3, "Btu/lb": 1 / 2.326,
    "cal/°C": 1 / 4.1868, "kJ/K": 1e-3, "psi": 145.0377,
}  # fmt: skip
"""What the figures above are in the unit that a heading names."""


def column(text: str, field: str) -> Seen:
    heading = parse(text)
    cells = cells_of(field)
    times = IN_UNIT.get(heading.unit, 1.0)
    if times != 1.0:
        cells = [Cell(CellKind.NUMBER, round(cell.value * times, 4)) for cell in cells if isinstance(cell.value, float)]
    return see("F5", heading, dict(enumerate(cells, 6)))


def decided(text: str, field: str) -> Decision:
    """What becomes of a heading over honest figures of a field, with its unit beside it where it has none."""
    heading = parse(text)
    if not heading.unit and field in USUAL_UNITS:
        text = f"{text} [{USUAL_UNITS[field]}]"
    seen = column(text, field)
    made = decide(seen, "Sheet", look_up(seen.heading), None, {})
    settle_unit(made, {})
    settle_basis(made, {}, row_says=False)
    return made


def letters(text: str) -> int:
    return sum(sign.isalnum() for sign in parse(text).name)


def test_every_row_has_a_field_and_a_language_that_are_known() -> None:
    assert len(ROWS) > 3_000
    assert {row["field"] for row in ROWS} <= set(FIELDS)
    assert {row["language"] for row in ROWS} == set(known.languages())
    assert {key for key, language in known.languages().items() if language.read_by_us} == READ_BY_US
    assert {language.standing for language in known.languages().values()} == {"read by us", "proposal only"}
    assert known.mark() == "common practice, no source"
    for heading, fields in known.ambiguous().items():
        assert set(fields) <= set(FIELDS), heading
        assert parse(heading).name == heading


OURS = [row for row in ROWS if row["language"] in READ_BY_US]


@pytest.mark.parametrize("language", sorted(READ_BY_US))
def test_an_unambiguous_variant_proposes_its_field(language: str) -> None:
    taken, asked = 0, []
    for row in OURS:
        if row["language"] != language:
            continue
        text, field = row["variant"], row["field"]
        words = look_up(parse(text))
        assert field in words.fields, (text, field)
        made = decided(text, field)
        if parse(text).short or words.ambiguous:
            asked.append(text)
            assert made.key == "", text
            assert made.questions, text
            assert made.means == OPEN, text
            continue
        assert made.settled, (text, field, [question.text for question in made.questions])
        # A unit that the column of the layout does not read leaves the column unread, and says why.
        unread = any("is not read for it" in said for said in made.evidence)
        # So does a result on a basis that is not compared.
        unread = unread or any("is not compared" in said for said in made.evidence)
        assert (made.key == field) != unread, (text, field, made.evidence)
        taken += 1
    assert taken > 2 * len(asked) or language == "en"
    assert taken > 40


def test_each_ambiguous_variant_asks() -> None:
    """Those marked in the file, and every heading of the list of doubles, over figures of each of their fields."""
    marked = [(row["variant"], row["field"]) for row in OURS if row["ambiguous_with"]]
    doubles = [(heading, field) for heading, fields in known.ambiguous().items() for field in fields]
    checked = 0
    for text, field in marked + doubles:
        if field not in NUMBERS and field not in TEXTS and field not in ("date", "time"):
            continue
        made = decided(text, field)
        assert made.means == OPEN, (text, field)
        assert {question.finding.code for question in made.questions} <= {
            "column-fits-two", "column-name-short",
        }, (text, field)  # fmt: skip
        checked += 1
    assert checked > 150


@pytest.mark.parametrize(
    "text", ["m", "m (g)", "T1", "t2 [°C]", "V (mL)", "S %", "%S", "H", "Ti", "C", "Q", "Mt", "W1"]
)
def test_one_or_two_letters_are_never_taken_by_name(text: str) -> None:
    for field in look_up(parse(text)).fields:
        if field in NUMBERS:
            made = decided(text, field)
            assert made.means == OPEN
            assert [question.finding.code for question in made.questions] == ["column-name-short"]


def test_no_variant_of_one_or_two_letters_is_taken_by_name() -> None:
    short = [row for row in ROWS if letters(row["variant"]) <= 2 and row["variant"].isascii()]
    assert len(short) > 100
    for row in short:
        if row["field"] in NUMBERS:
            assert decided(row["variant"], row["field"]).means in (OPEN, ""), row["variant"]


def test_languages_that_nobody_here_reads_are_only_proposed() -> None:
    seen = 0
    for row in ROWS:
        words = look_up(parse(row["variant"]))
        if row["language"] in READ_BY_US or any(words.read_by_us(field) for field in words.fields):
            continue
        field = row["field"]
        if not (FIELDS[field].means or FIELDS[field].by_basis):
            continue
        made = decided(row["variant"], field)
        assert made.means in (OPEN, ""), row
        seen += made.means == OPEN
    assert seen > 1_000


MASSES = ((11.4445, 12.4321), (12.0001, 13.0124), (11.8169, 12.8123), (11.2001, 12.1877), (11.5, 12.4987))
WARMTH = ((22.345, 24.901), (23.012, 25.444), (22.871, 25.013), (22.5, 25.007), (22.101, 24.554))


def three(pairs: tuple[tuple[float, float], ...], places: int, heads: tuple[str, str, str]) -> list[Seen]:
    low = [a for a, _ in pairs]
    high = [b for _, b in pairs]
    third = [round(b - a, places) for a, b in pairs]
    return [
        see(f"{letter}1", parse(head), {row: Cell(CellKind.NUMBER, value) for row, value in enumerate(values, 2)})
        for letter, head, values in zip("ABC", heads, (low, high, third), strict=True)
    ]


@pytest.mark.parametrize("heads", [("m1", "m2", "m"), ("W1", "W2", "W"), ("X", "Y", "Z"), ("g", "g'", "n")])
def test_the_arithmetic_tells_short_and_unknown_headings(heads: tuple[str, str, str]) -> None:
    columns = three(MASSES, 4, heads)
    words = {at: frozenset(look_up(seen.heading).fields) for at, seen in enumerate(columns)}
    found = roles(columns, words)
    assert [found[at].field for at in range(3)] == ["crucible_mass", "crucible_plus_sample", "sample_mass"]
    assert found[0].text == "B1 − A1 = C1 in 5 of 5 rows"


@pytest.mark.parametrize("heads", [("T1", "T2", "dT"), ("t0", "tn", "Δt"), ("a", "b", "c")])
def test_and_temperatures(heads: tuple[str, str, str]) -> None:
    columns = three(WARMTH, 3, heads)
    words = {at: frozenset(look_up(seen.heading).fields) for at, seen in enumerate(columns)}
    assert [role.field for _, role in sorted(roles(columns, words).items())] == ["initial_temp", "final_temp", "rise"]


def test_a_difference_that_fails_in_more_than_a_tenth_of_the_rows_tells_nothing() -> None:
    columns = three(MASSES, 4, ("X", "Y", "Z"))
    spoilt = see("C1", columns[2].heading, {**columns[2].cells, 2: Cell(CellKind.NUMBER, 0.9)})
    assert roles([columns[0], columns[1], spoilt], {}) == {}


def test_a_heading_that_contradicts_the_arithmetic_is_asked() -> None:
    columns = three(MASSES, 4, ("Crucible + sample (g)", "Gross weight (g)", "Sample mass (g)"))
    words = {at: look_up(seen.heading) for at, seen in enumerate(columns)}
    found = roles(columns, {at: frozenset(one.fields) for at, one in words.items()})
    made = decide(columns[0], "Sheet", words[0], found.get(0), {})
    assert made.means == OPEN
    assert [question.finding.code for question in made.questions] == ["column-values-unusual"]
    assert "empty crucible" in made.questions[0].text
