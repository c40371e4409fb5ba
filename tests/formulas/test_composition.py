"""Estimates from a composition, against published worked cases and by hand."""

import pytest

from batchcal.formulas import composition
from batchcal.verification.cases import rows, run_case
from batchcal.verification.kinds import KINDS

KIND = next(kind for kind in KINDS if kind.file == "composition.csv")
COAL = {"carbon": 66.02, "hydrogen": 4.87, "sulphur": 0.8, "oxygen": 18.7, "nitrogen": 0.97, "ash": 8.64}


def test_the_general_formula_by_hand() -> None:
    """349.1 x 66.02 + 1178.3 x 4.87 + 100.5 x 0.8 - 103.4 x 18.7 - 15.1 x 0.97 - 21.1 x 8.64 J/g."""
    by_hand = 23047.582 + 5738.321 + 80.4 - 1933.58 - 14.647 - 182.304
    assert composition.gross_from_composition(**COAL) == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "content"),
    [("carbon", 92.3), ("hydrogen", 0.42), ("hydrogen", 25.2), ("oxygen", 50.1), ("nitrogen", 5.7), ("sulphur", 95.0),
     ("ash", 71.5), ("oxygen", -0.1)],
)  # fmt: skip
def test_the_general_formula_is_refused_outside_its_range(name: str, content: float) -> None:
    with pytest.raises(ValueError, match=f"% of {name}, not"):
        composition.gross_from_composition(**{**COAL, name: content})


def test_dulong_by_hand() -> None:
    """Published: C 84, S 1.5, H 5.5, O 8.4 % give 80.8 x 84 + 345 x (5.5 - 1.05) + 22.4 x 1.5 = 8356.05 cal/g."""
    found = composition.gross_of_coal(carbon=84, hydrogen=5.5, sulphur=1.5, oxygen=8.4)
    assert found == pytest.approx(8356.05 * 4.1868, rel=1e-12)
    with pytest.raises(ValueError, match="up to 15 % of oxygen"):
        composition.gross_of_coal(carbon=50, hydrogen=6, sulphur=0, oxygen=43)


def test_the_share_of_the_oxygen_by_hand() -> None:
    """3.0 MPa in 300 mL at 25 °C: 900 J / (8.314 x 298.15) = 0.363079 mol, 11.6178 g; 33 kJ / 13.1 takes 2.5191 g."""
    share = composition.oxygen_used_share(33_000, 3.0, 300.0, 25.0)
    assert share == pytest.approx(2.519084 / 11.617787, rel=1e-5)
    assert composition.oxygen_used_share(33_000, 1.5, 300.0, 25.0) == pytest.approx(2 * share, rel=1e-12)


@pytest.mark.parametrize("name", ["gross_from_composition", "gross_of_coal"])
def test_a_formula_that_is_off_is_noticed_by_the_check_values(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    assert all(run_case(KIND, row).passed for row in rows(KIND))
    formula = getattr(composition, name)
    monkeypatch.setattr(composition, name, lambda **given: 1.001 * formula(**given))
    assert any(not run_case(KIND, row).passed for row in rows(KIND))
