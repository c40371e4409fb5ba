"""The constants that took part in an evaluation, each with its value, unit, source and mark, for the record."""

from batchcal import reference
from batchcal.model import Quantity, Settings
from batchcal.terms import AcidScheme, MassBasis


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
    return tuple(_quantity(reference.constant(key)) for key in keys)


def _quantity(constant: reference.Constant) -> Quantity:
    source = reference.source(constant.source)
    return Quantity(constant.name, constant.value, constant.unit, source, str(constant.mark))
