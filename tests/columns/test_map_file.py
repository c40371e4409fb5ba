"""The file of a map: what is written is read again, what is wrong is said in one line, what is open stops."""

import datetime as dt
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batchcal.errors import UsageError
from batchcal.workbook.columns.column_map import OPEN, ColumnMap, MapColumn, MapSetup, MapTable
from batchcal.workbook.columns.map_file import FORMAT, read_map, written

TABLE = MapTable(
    "Protokoll", "firings", "rows",
    (
        MapColumn("Nr.", "Firing no."), MapColumn("Probe", "Sample no."), MapColumn("m", "Sample mass", unit="g"),
        MapColumn('Θ "roh" \\ \t\x7f', "Temperature rise", unit="K", decimal=","),
        MapColumn("A (wf)", "Ash", unit="%", basis="d"),
        MapColumn("Notiz"),
    ),
    levels=2,
    above=(MapColumn("Datum", "Date"), MapColumn("c", "Concentration", unit="eq/L", at="below")),
    every_row={"Titrant": "sodium hydroxide", "Wire left": 0.0, "Blank": 0.05},
    sheet_is="Calorimeter",
)  # fmt: skip
MAP = ColumnMap(
    (TABLE,),
    (
        MapSetup("Method", "lab"),
        MapSetup("Repeatability limit", 120.0, "J/g", "own"),
        MapSetup("Batch date", dt.date(2026, 10, 14)),
        MapSetup(
            "Effective heat capacity", label="C", sheet="Protokoll", unit="J/K", in_force_from=dt.date(2026, 10, 1)
        ),
    ),
    {"calibration": ("Benzoesäure", "BA*"), "sodium hydroxide": ("NaOH",)},
    language="de",
)


def bare(column_map: ColumnMap) -> ColumnMap:
    """A map without what the file does not keep or makes itself: its own name and hash, lines and notes."""
    tables = tuple(
        MapTable(
            t.sheet, t.holds, t.shape, tuple(no_note(c) for c in t.headings), t.levels,
            tuple(no_note(c) for c in t.above), dict(t.every_row), t.tests, t.skip, t.sheet_is,
        )
        for t in column_map.tables
    )  # fmt: skip
    setup = tuple(
        MapSetup(s.item, s.value, s.unit, s.source, s.in_force_from, s.label, s.sheet, s.at, s.decimal)
        for s in sorted(column_map.setup, key=lambda one: one.item)
    )
    return ColumnMap(tables, setup, dict(column_map.words), {}, column_map.language)


def no_note(c: MapColumn) -> MapColumn:
    return MapColumn(c.heading, c.means, c.unit, c.basis, c.decimal, c.part, c.at)


def again(column_map: ColumnMap, folder: Path) -> ColumnMap:
    path = folder / "own.toml"
    path.write_text(written(column_map, "day.xlsx"), encoding="utf-8")
    return read_map(path)


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    found = again(MAP, tmp_path)
    assert bare(found) == bare(MAP)
    assert found.name == "own.toml"
    assert len(found.sha256) == 64
    text = (tmp_path / "own.toml").read_text(encoding="utf-8").splitlines()
    for entry in found.setup:
        assert entry.item in text[entry.line - 1]


TEXT = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    headings=st.lists(TEXT, min_size=1, max_size=6),
    words=st.lists(TEXT, max_size=3, unique=True),
    source=TEXT,
    note=TEXT,
)
def test_any_heading_word_or_note_comes_through(
    tmp_path: Path, headings: list[str], words: list[str], source: str, note: str
) -> None:
    columns = [MapColumn(heading, note=note) for heading in headings]
    columns[0] = MapColumn(headings[0], "Sample no.", note=note)
    column_map = ColumnMap(
        (MapTable("S", "samples", "rows", tuple(columns)),),
        (MapSetup("Method", "lab", source=source, note=note),),
        {"calibration": tuple(words)} if words else {},
    )
    content = tomllib.loads(written(column_map, note))
    assert [entry["heading"] for entry in content["table"][0]["headings"]] == headings
    assert content["words"].get("calibration", []) == words
    assert content["setup"]["Method"]["source"] == source


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("means = \"Sample no.\"", "means = \"Sampel no.\""), "meant: Sample no."),
        (("unit = \"g\"", "unit = \"cm\""), "the unit 'cm' is not read for Sample mass"),
        ((", unit = \"g\"", ""), "needs a unit"),
        (("basis = \"d\"", "basis = \"wf\""), "basis is one of ad, d, ar, daf"),
        (("\"Temperature rise\", unit = \"K\"", "\"Sample mass\", unit = \"g\""), "two columns fit Sample mass"),
        (("holds = \"firings\"", "holds = \"firing\""), "holds is one of firings"),
        (("shape = \"rows\"", "shape = \"row\""), "shape is one of rows"),
        (("calibration =", "calibrations ="), "meant: calibration?"),
        (("\"Repeatability limit\"", "\"Repeatabilty limit\""), "meant: Repeatability limit?"),
        (("decimal = \",\"", "decimal = \".\""), 'decimal is "," or nothing'),
        (("Titrant = \"sodium hydroxide\"", "Titrant = \"soda\""), "Titrant is one of"),
        (("\"Wire left\" = 0", "\"Wire left\" = \"none\""), "Wire left is a number"),
        (("in_force_from = 2026-10-01", "in_force_from = \"1.10.2026\""), "in_force_from is a date"),
        (("levels = 2", "levels = 9"), "levels is a number from 1 to 4"),
        (("at = \"below\"", "at = \"left\""), "at is one of right, below"),
        ((f"format = \"{FORMAT}\"", "format = \"other/1\""), "format is 'other/1'"),
        (("[[table]]", "[[tables]]"), "no [[table]]"),
        (("sheet = \"Protokoll\"\nholds", "shet = \"Protokoll\"\nholds"), "no entry 'shet'"),
        (("[setup]", "[setup"), "no column map that can be read"),
        (("language = \"de\"", "language = \"xx\""), "language 'xx' is not on record"),
        (("value = 120", "value = 1" + 400 * "0"), "a number, a date or a text in quotes is needed"),
        (("value = 120", "value = 1" + 5000 * "0"), "no column map that can be read"),
        (("[words]", "[words]\nx = " + 4000 * "[" + 4000 * "]"), "brackets nested too deep"),
        (("shape = \"rows\"", "shape = \"curves\""), 'curves need holds = "readings"'),
        (("\"BA*\"]", "\"BA*\"]\ncheck = [\"Benzoesäure\"]"), "stands for both calibration and check"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_one_line(tmp_path: Path, change: tuple[str, str], says: str) -> None:
    text = "\n".join(line for line in written(MAP, "day.xlsx").splitlines() if not line.startswith("#"))
    assert text.count(change[0]) >= 1, change[0]
    path = tmp_path / "own.toml"
    path.write_text(text.replace(change[0], change[1], 1), encoding="utf-8")
    with pytest.raises(UsageError) as caught:
        read_map(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith("own.toml: ")
    assert "\n" not in str(caught.value)


def test_open_questions_are_kept_and_named(tmp_path: Path) -> None:
    table = MapTable(
        "Protokoll", "firings", "rows",
        (MapColumn("m", OPEN), MapColumn("Druck", "Oxygen pressure", unit=OPEN), MapColumn("A", "Ash", "%", OPEN)),
        every_row={"Concentration": OPEN},
    )  # fmt: skip
    found = again(ColumnMap((table,), (), {"calibration": (OPEN,)}), tmp_path)
    assert found.questions() == [
        "sheet Protokoll, 'm': what it means",
        "sheet Protokoll, 'Druck': its unit",
        "sheet Protokoll, 'A': its basis",
        "sheet Protokoll, Concentration",
        "words for calibration",
    ]


def test_a_map_that_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="cannot be read"):
        read_map(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UsageError, match="no column map that can be read"):
        read_map(tmp_path / "bytes.toml")
