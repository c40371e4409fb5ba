"""Figures in words."""

import datetime as dt

import pytest
from day import place
from hypothesis import given
from hypothesis import strategies as st

from batchcal import findings
from batchcal.report import words


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(None, 1, "–"), (1.25, 2, "1.25"), (-0.04, 1, "0.0"), (-1.5, 1, "−1.5"), (0.0, 0, "0"), (12.96, 1, "13.0")],
)
def test_fixed(value: float | None, decimals: int, text: str) -> None:
    assert words.fixed(value, decimals) == text


def test_sign_is_shown_where_it_matters() -> None:
    assert [words.fixed(value, 3, sign=True) for value in (0.002, 0.0, -0.002)] == ["+0.002", "0.000", "−0.002"]


@given(st.floats(1.0, 500.0), st.floats(1e-4, 1.0))
def test_a_value_beyond_its_limit_never_looks_equal_to_it(limit: float, excess: float) -> None:
    value, shown = words.against(limit + excess, limit)
    assert float(value) > float(shown)


@given(st.lists(st.decimals(-1000, 30000, places=None, allow_nan=False).map(lambda d: f"{float(d):.6g}"), min_size=1))
def test_aligned_texts_have_their_decimal_marks_at_one_distance_from_the_right(texts: list[str]) -> None:
    plain = [text for text in texts if "e" not in text]
    padded = words.aligned(plain)
    assert [text.rstrip("\N{FIGURE SPACE}\N{PUNCTUATION SPACE}") for text in padded] == plain
    widths = {len(text) - max(text.find("."), text.find("\N{PUNCTUATION SPACE}")) for text in padded}
    assert len(widths) <= 1 or not any("." in text for text in plain)


def test_aligned_leaves_words_alone() -> None:
    assert words.aligned(["1.25", "–", "30"]) == [
        "1.25",
        "–",
        "30\N{PUNCTUATION SPACE}\N{FIGURE SPACE}\N{FIGURE SPACE}",
    ]


def test_places_and_rows_are_gathered_by_sheet() -> None:
    found = [
        findings.make("column-not-read", sheet="Runs", cell="H14", headings="x"),
        findings.make("column-not-read", sheet="Samples", row=3, headings="x"),
        findings.make("column-not-read", sheet="Runs", cell="H15", headings="x"),
        findings.make("column-not-read", headings="x"),
    ]
    assert words.places(found) == ("Runs H14, H15", "Samples row 3")
    assert words.rows(
        [place("runs", 4), place("runs", 5), place("runs", 6), place("samples", 9), place("runs", 8)]
    ) == (
        "Runs rows 4 to 6 and 8",
        "Samples row 9",
    )


def test_small_words() -> None:
    assert words.joined([]) == ""
    assert words.joined(["a"]) == "a"
    assert words.joined(["a", "b", "c"]) == "a, b and c"
    assert words.counted(1, "firing") == "1 firing"
    assert words.counted(0, "firing") == "0 firings"
    assert words.sentence("mean of 2") == "Mean of 2."
    assert words.sentence("") == ""
    assert words.date(dt.date(2026, 3, 9)) == "2026-03-09"
    assert [words.plain(value) for value in (26454.0, 9.62964, -2.5)] == ["26454", "9.62964", "−2.5"]
