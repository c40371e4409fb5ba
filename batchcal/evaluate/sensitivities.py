"""How the values of a sample change with its gross value as analysed and with the contents that enter them."""

from msgspec import Struct

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.net import net_at_constant_pressure
from batchcal.formulas import uncertainty as gum
from batchcal.model import Settings
from batchcal.terms import NET_BASES, NET_PREFIX, Basis

CONTENTS = ("moisture_analysis", "moisture_total", "ash", "hydrogen")
"""What the values on other bases and the net values follow from beside the gross value as analysed."""

_VALUES = (*map(str, Basis), *(f"{NET_PREFIX}{basis}" for basis in NET_BASES))
"""Names of a sample's values, in the order in which they are worked out."""


class Slopes(Struct, frozen=True):
    """Change of a value by 1 J/g of the gross value as analysed, and by 1 % of each of ``CONTENTS``."""

    gross: float
    contents: tuple[float, ...]


def slopes(contents: Contents, gross_ad_J_per_g: float, settings: Settings) -> dict[str, Slopes]:
    """Return, for each value that there is, how it changes with what it follows from.

    Each of these is moved by a little and all values are worked out anew, so that whatever follows from it moves along:
    ash that was given dry, or hydrogen that holds that of the moisture. With what is not known nothing changes.
    """
    here = _values(contents, gross_ad_J_per_g, settings)
    higher = _values(contents, gross_ad_J_per_g + 1.0, settings)
    moved = [contents.moved(content, gum.SMALL) for content in CONTENTS]
    there = [None if one is None else _values(one, gross_ad_J_per_g, settings) for one in moved]
    return {
        name: Slopes(
            gum.slope(value, higher[index] or 0.0, 1.0),
            tuple([0.0 if values is None else gum.slope(value, values[index] or 0.0) for values in there]),
        )
        for index, (name, value) in enumerate(zip(_VALUES, here, strict=True))
        if value is not None
    }


def _values(contents: Contents, gross_ad_J_per_g: float, settings: Settings) -> tuple[float | None, ...]:
    """Return all that follows from the gross value as analysed and the contents: other bases, and net values."""
    gross = contents.on_every_basis(gross_ad_J_per_g)
    return gross + net_at_constant_pressure(contents, gross_ad_J_per_g, settings)
