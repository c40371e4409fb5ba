"""Cells written column by column, and numbers with all the digits that Python writes."""

import math
import struct

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from batchcal.workbook.xlsx.digits import NO_NUMBER, digits
from batchcal.workbook.xlsx.inline_cells import InlineCells

ODD = [
    0.0, -0.0, 0.1 + 0.2, 60.0, 10.00005, 1e-4, 9.99e-5, 1.5e-5, 1e-6, -2.5e-7, 5e-324, 2.0**53, 9999999999999998.0,
    1e16, 123456789012345680.0, -1e17, 1e21, 1e22, 1.7976931348623157e308,
]  # fmt: skip


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False)))
@example(ODD)
@example([])
def test_numbers_are_written_as_python_writes_them(values: list[float]) -> None:
    assert digits(values) == list(map(repr, values))


@given(st.integers(0, 2**64 - 1))
def test_whatever_their_bits(bits: int) -> None:
    (value,) = struct.unpack("d", struct.pack("Q", bits))
    assert digits([None, value, 1.5]) == [NO_NUMBER, repr(value) if math.isfinite(value) else NO_NUMBER, "1.5"]


def test_a_row_is_what_the_columns_write_joined_by_its_number() -> None:
    cells = InlineCells("x:", 26, 3)
    numbers, texts, last = cells.columns
    columns = [
        numbers.numbers(5, [2.5, math.inf]),
        [texts.text(6, "<a> & \"'"), texts.text(7, "")],
        last.numbers(8, [None, -0.1]),
    ]
    assert list(cells.rows([9, 10], columns)) == [
        '<x:c r="Z9" s="5"><x:v>2.5</x:v></x:c><x:c r="AA9" s="6" t="inlineStr"><x:is><x:t xml:space="preserve">'
        '&lt;a&gt; &amp; "\'</x:t></x:is></x:c><x:c r="AB9" s="8"/>',
        '<x:c r="Z10" s="5"/><x:c r="AA10" s="7"/><x:c r="AB10" s="8"><x:v>-0.1</x:v></x:c>',
    ]


def test_columns_of_other_lengths_are_refused() -> None:
    cells = InlineCells("", 1, 1)
    with pytest.raises(ValueError, match="shorter"):
        list(cells.rows([1, 2], [cells.columns[0].numbers(5, [1.0])]))
