"""JSON written column by column, against the standard library's own text of the same document."""

import io
import json
from typing import Any

import pytest

from batchcal.report.json_text import write_json

RECORDS = [
    {"name": "a", "x": 1.5, "none": None, "inside": {"d": 1e-9, "ar": None}, "codes": [], "100 %s": 0},
    {
        "name": 'Größe "b"\n',
        "x": -0.0,
        "none": None,
        "inside": {"d": 2, "ar": 1e22},
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


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_is_refused(number: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        json_bytes({"list": iter([{"x": 1.0}, {"x": number}])})
