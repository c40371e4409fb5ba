"""Conversions between bases: round trips over the whole range, and what each basis needs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchcal.formulas import bases
from batchcal.terms import Basis

values = st.floats(0.01, 50000.0)
moistures = st.floats(0.0, 60.0)
ashes = st.floats(0.0, 35.0)


@given(values, moistures, moistures, ashes)
def test_out_and_back(value: float, moisture: float, total: float, ash: float) -> None:
    there = {
        Basis.AS_ANALYSED: value,
        Basis.DRY: bases.dry_from_as_analysed(value, moisture),
        Basis.AS_RECEIVED: bases.as_received_from_as_analysed(value, moisture, total),
        Basis.DRY_ASH_FREE: bases.dry_ash_free_from_as_analysed(value, moisture, ash),
    }
    assert set(there) == set(Basis)
    for basis, converted in there.items():
        assert bases.to_as_analysed(converted, basis, moisture, total, ash) == pytest.approx(value, rel=1e-12)


@given(values, moistures, st.floats(0.0, 40.0))
def test_dry_ash_free_is_the_dry_value_over_the_part_that_burns(value: float, moisture: float, ash_d: float) -> None:
    """q_daf = q_d 100 / (100 - A_d), the other form in use; the note of an inspection company gives both."""
    ash_ad = bases.to_as_analysed(ash_d, Basis.DRY, moisture, None, None)
    direct = bases.dry_ash_free_from_as_analysed(value, moisture, ash_ad)
    through_dry = bases.dry_from_as_analysed(value, moisture) * 100.0 / (100.0 - ash_d)
    assert direct == pytest.approx(through_dry, rel=1e-12)


@given(values, moistures)
def test_same_moisture_changes_nothing(value: float, moisture: float) -> None:
    assert bases.as_received_from_as_analysed(value, moisture, moisture) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("basis", "figures", "missing"),
    [
        (Basis.DRY, (None, 20.0, 10.0), "analysis moisture"),
        (Basis.AS_RECEIVED, (5.0, None, 10.0), "total moisture"),
        (Basis.AS_RECEIVED, (None, 20.0, 10.0), "analysis moisture"),
        (Basis.DRY_ASH_FREE, (5.0, 20.0, None), "ash"),
    ],
)
def test_a_missing_figure_is_named(
    basis: Basis, figures: tuple[float | None, float | None, float | None], missing: str
) -> None:
    with pytest.raises(ValueError, match=f"{basis} needs the {missing}"):
        bases.to_as_analysed(1.0, basis, *figures)


def test_as_analysed_needs_nothing() -> None:
    assert bases.to_as_analysed(0.73, Basis.AS_ANALYSED, None, None, None) == 0.73
