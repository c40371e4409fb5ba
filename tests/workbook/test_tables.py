"""How high rows are: texts are counted in lines as they wrap.

Outside: textwrap of Python, which puts the lines together that are only counted here.
"""

import textwrap

from hypothesis import given
from hypothesis import strategies as st

from batchcal.workbook.tables import _wrapped

WORDS = st.sampled_from(
    ["a", "duplicate", "120.0", "J/g,", "well-kept", "2:", "-", "--", "", "\t", "é", "Ünits", "\u00a0", "x" * 30]
)


@given(st.lists(WORDS, min_size=1, max_size=30).map(" ".join), st.integers(1, 40))
def test_lines_are_those_of_wrapping(text: str, width: int) -> None:
    assert _wrapped(text, width) == len(textwrap.wrap(text, width))


@given(st.text(alphabet="ab -\n\t.—\u2009", max_size=60), st.integers(1, 20))
def test_lines_of_any_text(text: str, width: int) -> None:
    assert _wrapped(text, width) == len(textwrap.wrap(text, width))
