"""Signs of test portions inside a heading, and the first and second weighing of one firing, which are no portions.

The figures are invented; what each column is follows from how the row is built here.
"""

from pathlib import Path
from typing import Any

import pytest

from batchcal.errors import UsageError
from batchcal.process import propose_columns
from batchcal.workbook.columns.map_file import read_map
from batchcal.workbook.columns.questions import Question
from columns.own_day import DAY, Sheets

HEAT_CAPACITY_J_PER_K = 10085.0


def fired(at: int, portion: int) -> tuple[float, float, float]:
    """Mass in g, initial and final temperature in °C of one firing; the start swings, as it does on a bench."""
    mass = 0.97 + 0.011 * ((3 * at + portion) % 7)
    initial = 24.6 + 0.17 * ((5 * at + 4 * portion) % 6)
    return round(mass, 4), round(initial, 3), round(initial + (27400.0 + 90.0 * at) * mass / HEAT_CAPACITY_J_PER_K, 3)


def side_by_side(folder: Path, heads: list[str], *, rises: bool = False) -> Path:
    """One row a sample: two masses, then initial and final temperature of each portion, then perhaps the rises."""
    rows: list[list[Any]] = [["Date:", DAY], [], ["Sample no.", *heads]]
    for at in range(6):
        one, two = fired(at, 1), fired(at, 2)
        row = [f"C{at + 1}", one[0], two[0], one[1], one[2], two[1], two[2]]
        rows.append([*row, round(one[2] - one[1], 3), round(two[2] - two[1], 3)] if rises else row)
    made = Sheets()
    made.sheet("Today", rows)
    return made.save(folder)


@pytest.mark.parametrize(
    "heads",
    [
        ["m1 (g)", "m2 (g)", "T1 start (°C)", "T1 end (°C)", "T2 start (°C)", "T2 end (°C)", "ΔT1", "ΔT2"],
        [
            *("1st sample mass (g)", "2nd sample mass (g)", "1st initial temperature (°C)"),
            *("1st final temperature (°C)", "2nd initial temperature (°C)", "2nd final temperature (°C)"),
            *("1st temperature rise (K)", "2nd temperature rise (K)"),
        ],
    ],
    ids=["inside", "ordinal"],
)
def test_a_sign_inside_a_heading_is_that_of_the_test_portion(tmp_path: Path, heads: list[str]) -> None:
    table = propose_columns(side_by_side(tmp_path, heads, rises=True)).column_map.tables[0]
    assert table.shape == "pairs"
    assert [(entry.means, entry.part) for entry in table.headings[3:]] == [
        ("Initial temperature", "1"), ("Final temperature", "1"), ("Initial temperature", "2"),
        ("Final temperature", "2"), ("Temperature rise", "1"), ("Temperature rise", "2"),
    ]  # fmt: skip


@pytest.mark.parametrize("heads", [["m1", "m2", "T1", "T2"], ["m1 (g)", "m2 (g)", "T1 (°C)", "T2 (°C)"]])
def test_first_and_second_weighing_of_a_firing_are_no_test_portions(tmp_path: Path, heads: list[str]) -> None:
    rows: list[list[Any]] = [["Date:", DAY], [], ["Sample no.", *heads, "Ash, ad (%)"]]
    for at in range(6):
        mass, initial, final = fired(at // 2, at % 2)
        tare = 12.0 + 0.07 * (at % 4)
        rows.append([f"C{at // 2}", round(tare, 4), round(tare + mass, 4), initial, final, 11.5])
    made = Sheets()
    made.sheet("Today", rows)
    proposal = propose_columns(made.save(tmp_path))
    assert proposal.column_map.tables[0].shape == "rows"
    choices = {question.key.removeprefix("Today!"): question.choices[0].value for question in proposal.questions}
    assert choices == {
        "B3 means": "crucible_mass", "C3 means": "crucible_plus_sample",
        "D3 means": "initial_temp", "E3 means": "final_temp",
    }  # fmt: skip


PARTLESS = [
    "Sample mass 1 (g)", "Sample mass 2 (g)", "Initial temperature 1 (°C)", "Final temperature (°C)",
    "Initial temperature 2 (°C)", "Final temperature again (°C)",
]  # fmt: skip


def test_a_reading_that_names_no_test_portion_is_asked_for_it(tmp_path: Path) -> None:
    own = side_by_side(tmp_path, PARTLESS)
    still_open = propose_columns(own)
    assert [(one.finding.code, one.finding.cell) for one in still_open.questions] == [("column-part-open", "E3")]
    assert still_open.column_map.tables[0].headings[4].means == "?"

    def answered(question: Question, _: object) -> str:
        return "1"

    assert propose_columns(own, None, answered).column_map.tables[0].headings[4].part == "1"
    left = propose_columns(own, None, lambda *_: "-").column_map.tables[0].headings[4]
    assert (left.means, left.part) == ("", "")


def test_a_map_cannot_give_the_reading_of_one_portion_to_both(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        """format = "batchcal.columns/1"
[[table]]
sheet = "Today"
holds = "firings"
shape = "pairs"
headings = [
  { heading = "m1 (g)", means = "Sample mass", part = "1" },
  { heading = "m2 (g)", means = "Sample mass", part = "2" },
  { heading = "T1 start", means = "Initial temperature" },
  { heading = "T1 end", means = "Final temperature" },
]
""",
        encoding="utf-8",
    )
    with pytest.raises(UsageError, match=r"'T1 end': Final temperature is of one test portion; give its part \(1, 2\)"):
        read_map(path)
