"""The catalogue: every kind can be worded, says what to do, and keeps its severity."""

import ast
import re
import string
from pathlib import Path
from typing import Any

import pytest

from batchcal.findings import CATALOGUE, Kind, Severity, in_order, make
from batchcal.terms import Decision


def fields(kind: Kind) -> set[str]:
    texts = (kind.message, kind.remedy)
    return {name for text in texts for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("code", CATALOGUE)
def test_each_kind(code: str) -> None:
    kind = CATALOGUE[code]
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)
    details: dict[str, Any] = dict.fromkeys(fields(kind) - {"where", "firing", "sample"}, "x")
    found = make(code, sheet="Runs", row=3, cell="P3", firing="7", sample="S1", **details)
    for text in (found.message, found.remedy):
        assert text.endswith((".", "?"))
        assert "{" not in text
    assert found.where == "Runs!P3"
    if kind.effect is not None:
        assert kind.severity.stops
        assert kind.effect is not Decision.READY


@pytest.mark.parametrize("code", CATALOGUE)
def test_review_and_note_never_decide(code: str) -> None:
    kind = CATALOGUE[code]
    if not kind.severity.stops:
        assert kind.effect is None


def test_lowering_takes_the_effect_away_and_raising_is_refused() -> None:
    lowered = make("decimal-comma", heading="Water in bomb", read="1,0", severity=Severity.REVIEW)
    assert lowered.effect is None
    assert CATALOGUE["decimal-comma"].effect is Decision.HOLD
    with pytest.raises(ValueError, match="cannot be raised"):
        make("residue-noted", read="soot", severity=Severity.BLOCK)


def test_a_code_or_a_detail_that_does_not_exist_is_a_bug() -> None:
    with pytest.raises(KeyError):
        make("no-such-finding")
    with pytest.raises(KeyError):
        make("decimal-comma", heading="Water in bomb")


def test_where_in_words() -> None:
    assert make("titre-not-used", count=1, scheme="none").where == ""
    row = make("firing-number-missing", sheet="Runs", row=4)
    assert row.where == "Runs row 4"
    assert row.message.startswith("Runs row 4: ")


def test_safety_comes_first_and_the_rest_keeps_its_order() -> None:
    note = make("titre-not-used", count=1, scheme="none")
    first = make("acid-scheme-missing", choices="none")
    second = make("repeatability-limit-missing")
    leak = make("leak-logged", firing="1", apparatus="bomb 1")
    assert in_order([note, first, leak, second]) == (leak, first, second, note)


MAKERS = {"make": 0, "finding": 0, "add": 0, "stop": 0, "_at": 1, "doubts_at": 1, "_setup_finding": 0}


def test_every_code_that_is_made_stands_in_the_catalogue() -> None:
    made = set()
    for path in sorted((Path(__file__).parent.parent / "batchcal").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            position = MAKERS.get(name)
            if position is None or len(node.args) <= position:
                continue
            argument = node.args[position]
            if isinstance(argument, ast.Constant) and isinstance(argument.value, str) and "-" in argument.value:
                made.add(argument.value)
    assert len(made) > 60
    assert made - set(CATALOGUE) == set()
