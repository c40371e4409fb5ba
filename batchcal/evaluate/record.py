"""The constants that took part in an evaluation, each with its value, unit, source and mark, for the record."""

from batchcal import reference
from batchcal.evaluate.net import LIQUID_METHODS
from batchcal.model import Quantity, Settings
from batchcal.terms import AcidScheme, HeatExchangeMethod, MassBasis

_NET = (
    "net-hydrogen-constant-pressure", "net-oxygen-constant-pressure", "net-nitrogen-constant-pressure",
    "net-moisture-constant-pressure", "net-hydrogen-constant-volume", "net-moisture-constant-volume",
    "hydrogen-in-water",
)  # fmt: skip
"""Of the net values, which are worked out wherever the hydrogen of a sample is given."""


def constants_used(settings: Settings) -> tuple[Quantity, ...]:
    """Return the constants of the reference data that the settings bring into use."""
    keys = ["further-test-factor-3", "further-test-factor-4"]
    if settings.acid_scheme is not None and settings.acid_scheme.uses_bench_sulphur:
        keys.append("atomic-mass-sulphur")
    if settings.benzoic_mass_basis is MassBasis.VACUUM:
        keys += ["air-density", "weight-density", "benzoic-density"]
    keys += ["sample-mass-lowest", "sample-mass-highest", "rise-lowest", "rise-highest", "gross-highest"]
    if settings.acid_scheme not in (None, AcidScheme.NONE, AcidScheme.FIXED, AcidScheme.PROPORTION):
        keys += ["titrant-lowest", "titrant-highest"]
    if settings.report_unit == "Btu/lb":
        keys.append("btu-per-lb")
    if settings.heat_exchange_method is HeatExchangeMethod.SIX_TENTHS:
        keys.append("six-tenths-fraction")
    keys += _NET
    if settings.method in LIQUID_METHODS:
        keys += ["liquid-net-intercept", "liquid-net-slope"]
    return tuple(_quantity(reference.constant(key)) for key in keys)


def _quantity(constant: reference.Constant) -> Quantity:
    source = reference.source(constant.source)
    return Quantity(constant.name, constant.value, constant.unit, source, str(constant.mark), key=constant.key)
