"""What a person reads in the outputs of the examples is what was looked at last: see ``gold.py``."""

from pathlib import Path

import pytest
from gold import DAYS, texts

GOLD = Path(__file__).parent / "gold"


@pytest.mark.parametrize("day", DAYS)
def test_the_outputs_read_as_they_did(day: str) -> None:
    for name, text in texts(day).items():
        assert text.splitlines() == (GOLD / name).read_text(encoding="utf-8").splitlines(), name


def test_nothing_else_is_kept() -> None:
    assert len(list(GOLD.iterdir())) == 2 * len(DAYS)
