"""The slips that can be put into an honest day, one at a time, with what each needs of the day.

The numbers and the confidence are those of the list the bench keeps of what goes wrong in its sheets: A certain from
the data, B strong, C a hint. Left out, because the workbook as made here cannot show them: time readings in the
wrong order (37), reading modes mixed (39), template versions (57), and what only a history or a manager sees
(32, 51 to 54).
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bad_day import slips_bench as bench
from bad_day import slips_records as records
from bad_day import slips_sheet as sheet
from bad_day.day import Day
from bad_day.honest import honest_day
from bad_day.truth import Truth, UnfitError


@dataclass(frozen=True)
class Slip:
    """A slip: how it is applied and what the honest day must look like for it."""

    apply: Callable[[Day, random.Random], Truth]
    name: str
    needs: dict[str, Any] = field(default_factory=dict)


_TYPED = {"formulas": False}
_FORMULAS = {"formulas": True}
_NET = {"masses": "net"}
_WEIGHED = {"masses": "weighings"}
_RISE = {"temperatures": "rise"}

SLIPS: dict[str, Slip] = {
    slip.name: slip
    for slip in (
        Slip(sheet.calories_in_own_column, "calories_in_own_column"),
        Slip(sheet.calories_in_own_row, "calories_in_own_row"),
        Slip(sheet.calories_in_setup, "calories_in_setup"),
        Slip(sheet.kilojoules_in_own_rows, "kilojoules_in_own_rows"),
        Slip(sheet.thousand_in_setup, "thousand_in_setup"),
        Slip(sheet.calorie_definition, "calorie_definition", _TYPED),
        Slip(sheet.stale_heat_capacity, "stale_heat_capacity"),
        Slip(sheet.lost_anchor, "lost_anchor"),
        Slip(sheet.formula_overtyped, "formula_overtyped", _FORMULAS),
        Slip(sheet.odd_formula, "odd_formula", _FORMULAS),
        Slip(sheet.acid_forgotten, "acid_forgotten"),
        Slip(bench.titres_missing, "titres_missing"),
        Slip(sheet.acid_twice, "acid_twice"),
        Slip(sheet.wrong_sulphur_factor, "wrong_sulphur_factor"),
        Slip(sheet.sulphur_basis, "sulphur_basis", {"basis": "d"}),
        Slip(sheet.wrong_basis_printed, "wrong_basis_printed"),
        Slip(records.moistures_swapped, "moistures_swapped"),
        Slip(records.moisture_of_another_day, "moisture_of_another_day"),
        Slip(bench.copied_replicate, "copied_replicate"),
        Slip(bench.copied_digit_altered, "copied_digit_altered"),
        Slip(bench.masses_exchanged, "masses_exchanged"),
        Slip(bench.row_shift_mass, "row_shift_mass", _NET),
        Slip(bench.row_shift_rise, "row_shift_rise", _RISE),
        Slip(bench.row_shift_titre, "row_shift_titre"),
        Slip(bench.partial_sort, "partial_sort"),
        Slip(bench.transposed_digit, "transposed_digit", _NET | _RISE),
        Slip(bench.decimal_slip, "decimal_slip", _NET | _RISE),
        Slip(bench.decimal_comma, "decimal_comma", _RISE),
        Slip(bench.wrong_crucible_tare, "wrong_crucible_tare", _WEIGHED),
        Slip(bench.net_disagrees, "net_disagrees", {"masses": "both"}),
        Slip(sheet.sample_number_as_date, "sample_number_as_date", {"ids": "short"}),
        Slip(sheet.leading_zeros_lost, "leading_zeros_lost", {"ids": "zeros"}),
        Slip(bench.typo_in_sample_number, "typo_in_sample_number"),
        Slip(bench.one_number_for_two_samples, "one_number_for_two_samples"),
        Slip(bench.bomb_mixed, "bomb_mixed", {"bombs": 2}),
        Slip(bench.part_exchanged_between_bombs, "part_exchanged_between_bombs", {"bombs": 2}),
        Slip(sheet.rounded_before_comparing, "rounded_before_comparing"),
        Slip(sheet.outlier_averaged, "outlier_averaged"),
        Slip(sheet.outlier_dropped, "outlier_dropped"),
        Slip(bench.outlier_taken_out, "outlier_taken_out"),
        Slip(sheet.struck_row_counted, "struck_row_counted"),
        Slip(sheet.hidden_row_counted, "hidden_row_counted"),
        Slip(sheet.mean_row, "mean_row"),
        Slip(sheet.old_row_left, "old_row_left"),
        Slip(sheet.result_without_inputs, "result_without_inputs"),
        Slip(sheet.formula_not_calculated, "formula_not_calculated", _FORMULAS | {"masses": "both"}),
        Slip(sheet.error_cell, "error_cell", _FORMULAS | {"masses": "both"}),
        Slip(bench.start_copied, "start_copied", {"temperatures": "ends"}),
        Slip(bench.wire_left_longer, "wire_left_longer"),
        Slip(bench.wire_in_millimetres, "wire_in_millimetres"),
        Slip(bench.aid_forgotten, "aid_forgotten", {"aid": True}),
        Slip(bench.aid_entered_as_sample, "aid_entered_as_sample", {"aid": True}),
        Slip(bench.capsule_not_subtracted, "capsule_not_subtracted", {"capsule": True}),
        Slip(bench.titrant_of_old_bottle, "titrant_of_old_bottle", {"standardised": True}),
        Slip(bench.concentration_doubled_or_halved, "concentration_doubled_or_halved"),
        Slip(bench.nitric_negative, "nitric_negative", {"scheme": "sulphur apart"}),
        Slip(sheet.benzoic_of_previous_lot, "benzoic_of_previous_lot"),
        Slip(records.hydrogen_with_moisture, "hydrogen_with_moisture", {"basis": "ad"}),
        Slip(records.hydrogen_default, "hydrogen_default"),
        Slip(records.sum_over_hundred, "sum_over_hundred"),
        Slip(records.impossible_timing, "impossible_timing", {"bombs": 1}),
        Slip(records.day_and_month_swapped, "day_and_month_swapped"),
        Slip(records.reviewer_is_analyst, "reviewer_is_analyst"),
    )
}


def bad_day(name: str, seed: int, **style: Any) -> tuple[Day, Truth]:
    """Return an honest day that fits a slip, with that slip in it, and what was done; the same for the same seed.

    A day that offers no place for the slip is passed over for one of the next seeds.
    """
    slip = SLIPS[name]
    for attempt in range(20):
        day = honest_day(seed + 100_000 * attempt, **{**style, **slip.needs})
        try:
            return day, slip.apply(day, random.Random(f"{name} {seed}"))
        except UnfitError:
            continue
    raise LookupError(f"no day from seed {seed} on has a place for {name}")
