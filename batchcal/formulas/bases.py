"""Conversion between the bases of a value: as analysed, dry, as received, dry ash-free.

For gross calorific values and for contents that do not count the moisture (hydrogen and oxygen without those of
water). Net calorific values do not convert by these factors. Percentages run from 0 to below 100, and the moisture
and ash together stay below 100; the caller checks that.
"""

from batchcal.terms import Basis


def dry_from_as_analysed(value: float, moisture_analysis_percent: float) -> float:
    """Return a value on the dry basis, in its own unit.

    x_d = x_ad 100 / (100 - M_ad). Valid for 0 <= M_ad < 100.

    References
    ----------
    [inspection-note], [iso-1170]

    """
    return value * 100.0 / (100.0 - moisture_analysis_percent)


def as_received_from_as_analysed(
    value: float, moisture_analysis_percent: float, moisture_total_percent: float
) -> float:
    """Return a value as received, in its own unit.

    x_ar = x_ad (100 - M_t) / (100 - M_ad). Valid for 0 <= M_ad < 100 and 0 <= M_t < 100.

    References
    ----------
    [inspection-note], [iso-1170]

    """
    return value * (100.0 - moisture_total_percent) / (100.0 - moisture_analysis_percent)


def dry_ash_free_from_as_analysed(value: float, moisture_analysis_percent: float, ash_analysis_percent: float) -> float:
    """Return a value on the dry ash-free basis, in its own unit; the ash is the one as analysed.

    x_daf = x_ad 100 / (100 - M_ad - A_ad). Valid for M_ad + A_ad < 100.

    References
    ----------
    [inspection-note], [iso-1170]

    """
    return value * 100.0 / (100.0 - moisture_analysis_percent - ash_analysis_percent)


def to_as_analysed(
    value: float,
    basis: Basis,
    moisture_analysis_percent: float | None,
    moisture_total_percent: float | None,
    ash_analysis_percent: float | None,
) -> float:
    """Return a content (ash, sulphur, ...) given on ``basis`` as one of the analysis sample.

    The inverse of the other three: x_ad = x_d (100 - M_ad) / 100, x_ar (100 - M_ad) / (100 - M_t),
    x_daf (100 - M_ad - A_ad) / 100. What a basis does not need may be None; ash itself has no dry ash-free basis, so
    for it ``ash_analysis_percent`` is None.

    Raises ValueError where the basis needs a figure that is None.

    References
    ----------
    [inspection-note], [iso-1170]

    """
    if basis is Basis.AS_ANALYSED:
        return value
    dry_part = 100.0 - _needed(moisture_analysis_percent, basis, "analysis moisture")
    if basis is Basis.DRY:
        return value * dry_part / 100.0
    if basis is Basis.AS_RECEIVED:
        return value * dry_part / (100.0 - _needed(moisture_total_percent, basis, "total moisture"))
    return value * (dry_part - _needed(ash_analysis_percent, basis, "ash as analysed")) / 100.0


def _needed(percent: float | None, basis: Basis, name: str) -> float:
    if percent is None:
        raise ValueError(f"a content on the basis {basis} needs the {name} to be taken as analysed")
    return percent
