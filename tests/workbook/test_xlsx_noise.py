"""Workbooks cut short and with bytes changed: the same reading or one line; where the parts are changed, a reading."""

import random
from collections import Counter
from pathlib import Path

import pytest
from hostile.base import PARTS, RUNS, SETUP, STRINGS, packed, parts
from hypothesis import given, settings
from hypothesis import strategies as st
from lab_packages.writers import JAVASCRIPT_DAY

from batchcal.errors import WorkbookError
from batchcal.workbook.grid import Grid
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.workbook import grids

EXAMPLE = Path(__file__).parent.parent.parent / "example_workbooks" / "clean_day.xlsx"
_PIECES = (
    b"<!DOCTYPE x>", b"&lt;", b"<![CDATA[1]]>", b"<!-- x -->", b"<?x y?>", b"&#x41;", b"<a/>", b"<row/>", b"<c/>",
    b"<v>1</v>", b"<f>1</f>", b"<is><t>1</t></is>", b' t="s"', b' r="A1"', b' s="1"', b"\xff", b"]]>", b"&", b"<", b">",
)  # fmt: skip


def read(data: bytes) -> tuple[Grid, ...] | None:
    """Return the reading, None where it is refused in one line; whatever else is raised goes through."""
    try:
        return grids(Package("day.xlsx", data))
    except WorkbookError as error:
        line = str(error)
    assert line.isprintable()
    assert len(line) < 260
    return None


@pytest.mark.parametrize("path", [EXAMPLE, JAVASCRIPT_DAY], ids=lambda path: path.name)
def test_cut_short_at_every_hundredth_byte(path: Path) -> None:
    data = path.read_bytes()
    assert read(data) is not None
    for size in (*range(0, len(data), 100), *range(len(data) - 30, len(data))):
        assert read(data[:size]) is None, size


@pytest.mark.parametrize("path", [EXAMPLE, JAVASCRIPT_DAY], ids=lambda path: path.name)
def test_bytes_changed_in_the_archive_never_give_another_reading(path: Path) -> None:
    """The check sums see to that; only what no reading needs can be changed in silence."""
    data, chance = path.read_bytes(), random.Random(20261127)
    untouched, outcomes = read(data), Counter[str]()
    for number in range(300):
        noisy = bytearray(data)
        # Half of them at the end, where the list of the parts stands.
        for _ in range(chance.choice((1, 1, 2, 10))):
            first = len(data) - 2000 if number % 2 else 0
            noisy[chance.randrange(first, len(data))] = chance.randrange(256)
        found = read(bytes(noisy))
        assert found in (None, untouched), number
        outcomes["refused" if found is None else "read"] += 1
    assert set(outcomes) == {"refused", "read"}


def test_bytes_changed_in_the_parts_raise_nothing_else() -> None:
    chance, made = random.Random(20261127), parts()
    untouched, outcomes = read(packed(made)), Counter[str]()
    for _ in range(1000):
        name = chance.choice(PARTS)
        noisy = bytearray(made[name])
        for _ in range(chance.choice((1, 1, 1, 3))):
            at, way = chance.randrange(len(noisy)), chance.random()
            if way < 0.5:
                noisy[at] = chance.choice((chance.randrange(256), ord(chance.choice('<>/"&;=0123456789'))))
            elif way < 0.7:
                del noisy[at : at + chance.randrange(1, 40)]
            elif way < 0.85:
                begin = chance.randrange(len(noisy))
                noisy[at:at] = noisy[begin : begin + chance.randrange(1, 200)]
            else:
                noisy[at:at] = chance.choice(_PIECES)
        found = read(packed({**made, name: bytes(noisy)}))
        outcomes["refused" if found is None else "same" if found == untouched else "another"] += 1
    assert set(outcomes) == {"refused", "same", "another"}


@settings(max_examples=300, deadline=None)
@given(st.sampled_from([RUNS, SETUP, STRINGS]), st.lists(st.sampled_from(_PIECES), min_size=1, max_size=4), st.data())
def test_elements_anywhere_raise_nothing_else(name: str, pieces: list[bytes], data: st.DataObject) -> None:
    made = parts()
    text = made[name]
    for piece in pieces:
        at = data.draw(st.integers(0, len(text)))
        text = text[:at] + piece + text[at:]
    read(packed({**made, name: text}))


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400), st.booleans())
def test_bytes_of_any_kind_are_refused(data: bytes, as_archive: bool) -> None:
    assert read(b"PK\x03\x04" + data if as_archive else data) is None
