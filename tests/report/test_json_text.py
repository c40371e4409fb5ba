"""JSON written piece by piece, against the standard library's own text of the same document."""

import io
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchcal.report.json_text import write_json

RECORDS = [
    {"name": "a", "x": 1.5, "none": None, "inside": {"d": 1.25e-3, "ar": None}, "codes": [], "100 %s": 0},
    {
        "name": 'Größe "b"\n',
        "x": -0.0,
        "none": None,
        "inside": {"d": 2, "ar": 1e15},
        "codes": ["one", "two"],
        "100 %s": 1,
    },
    {"name": "", "x": 0.1 + 0.2, "none": True, "inside": {"d": 3.0, "ar": False}, "codes": [["deep"]], "100 %s": 2},
]
UNLIKE: list[Any] = [{"a": 1}, {"b": 1}, {}, [], [[]], "text", None, {"a": {"b": [1, {"c": {}}]}}, {"a": [{}]}, (1, 2)]


def json_bytes(document: dict[str, Any]) -> bytes:
    out = io.BytesIO()
    write_json(out, document)
    return out.getvalue()


@pytest.mark.parametrize(
    "document",
    [
        {"list": RECORDS, "empty": [], "nothing": {}, "one": RECORDS[0]},
        {"list": UNLIKE, "again": [UNLIKE, UNLIKE]},
        {"many": [{"n": number, "inside": {"half": number / 2}} for number in range(2500)]},
        {"text": "\u2028 %s \\n", "like": [[1, 2], [3, 4]], "mixed": [{"a": 1}, {"a": {}}]},
    ],
    ids=["records", "unlike", "many", "texts"],
)
def test_the_text_is_that_of_the_standard_library(document: dict[str, Any]) -> None:
    expected = json.dumps(document, ensure_ascii=False, indent=1) + "\n"
    assert json_bytes(document).decode() == expected
    streamed = {key: iter(value) if isinstance(value, list) else value for key, value in document.items()}
    assert json_bytes(streamed).decode() == expected


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_comes_back(number: float) -> None:
    """Only the exponent of a very large or small number is spelt otherwise."""
    assert json.loads(json_bytes({"list": iter([{"x": number}])})) == {"list": [{"x": number}]}


@pytest.mark.parametrize("number", [float("nan"), float("inf"), -float("inf")])
@pytest.mark.parametrize("within", ["record", "deep", "value", "list"])
def test_a_number_that_is_not_finite_is_refused(within: str, number: float) -> None:
    documents: dict[str, dict[str, Any]] = {
        "record": {"list": iter([{"x": 1.0}, {"x": number}])},
        "deep": {"list": iter([{"x": {"y": [{"z": number}]}}])},
        "value": {"x": number},
        "list": {"x": [1.0, (number,)]},
    }
    with pytest.raises(ValueError, match="JSON"):
        json_bytes(documents[within])
