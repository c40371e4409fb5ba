"""Net calorific values of a sample from its gross value and its composition."""

from collections.abc import Mapping
from typing import NamedTuple

from batchcal.evaluate.contents import Contents
from batchcal.formulas import net
from batchcal.model import NetValues, Settings
from batchcal.terms import NET_BASES, Basis, YesNo

LIQUID_METHODS = ("astm-d240", "astm-d4809")
"""Methods for liquid fuels, under which a net value may be estimated where the hydrogen is not known."""

NO_GROSS = "there is no gross value to start from"
"""Why a sample that is not ready has no net value; its own findings say what is to be done."""


_NONE: tuple[float | None, ...] = (None,) * len(NET_BASES)
_NOTHING: Mapping[Basis, float | None] = dict(zip(NET_BASES, _NONE, strict=True))
_WITHOUT_GROSS = NetValues(_NOTHING, _NOTHING, (NO_GROSS,))
_WITHOUT_HYDROGEN = NetValues(_NOTHING, _NOTHING, ("no hydrogen is given",))
_WITHOUT_MOISTURE = NetValues(_NOTHING, _NOTHING, ("analysis moisture is missing",))


class _Composition(NamedTuple):
    """The elements (%, dry) that the water of the products depends on; oxygen and nitrogen None where not known."""

    hydrogen: float
    oxygen: float | None
    nitrogen: float | None
    how: str
    """How the oxygen was found where it was not simply given."""


def net_values(contents: Contents, gross_ad_J_per_g: float | None, settings: Settings) -> NetValues:
    """Return the net values that can be worked out, and notes on what they rest on or what is missing.

    At constant pressure oxygen and nitrogen that are not known are taken as 0, and the note says what that is
    worth. Hydrogen must be known, and whether it includes that of the moisture where its basis leaves that open.
    """
    if gross_ad_J_per_g is None:
        return _WITHOUT_GROSS
    if contents.row is None or "hydrogen" not in contents.given:
        return _without_hydrogen(gross_ad_J_per_g, settings)
    gross_dry = contents.value_on(Basis.DRY, gross_ad_J_per_g)
    if gross_dry is None:
        return _WITHOUT_MOISTURE
    dry = _composition(contents)
    if isinstance(dry, str):
        return NetValues(_NOTHING, _NOTHING, (dry,))
    notes, assumed = [dry.how] if dry.how else [], []
    if dry.oxygen is None:
        assumed.append("the oxygen, which is not known and taken as 0")
        notes.append(f"oxygen is not known and taken as 0; each 1 % lowers the value by {net.OXYGEN_P:.2f} J/g")
    if dry.nitrogen is None:
        assumed.append("the nitrogen, which is not known and taken as 0")
        notes.append(f"nitrogen is not known and taken as 0; each 1 % lowers the value by {net.NITROGEN_P:.2f} J/g")
    pressure = dict(zip(NET_BASES, _at_constant_pressure(contents, gross_dry, dry), strict=True))
    volume = {
        basis: None if moisture is None else net.net_constant_volume(gross_dry, dry.hydrogen, moisture)
        for basis, moisture in zip(NET_BASES, _moistures(contents), strict=True)
    }
    return NetValues(pressure, volume, tuple(notes), tuple(assumed))


def net_at_constant_pressure(
    contents: Contents, gross_ad_J_per_g: float, settings: Settings
) -> tuple[float | None, ...]:
    """Return the net values at constant pressure alone (J/g), in the order of ``NET_BASES``."""
    if contents.row is None or "hydrogen" not in contents.given:
        estimate = _estimate(gross_ad_J_per_g, settings)
        return _NONE if estimate is None else (estimate, *_NONE[1:])
    gross_dry, dry = contents.value_on(Basis.DRY, gross_ad_J_per_g), _composition(contents)
    if gross_dry is None or isinstance(dry, str):
        return _NONE
    return _at_constant_pressure(contents, gross_dry, dry)


def _at_constant_pressure(contents: Contents, gross_dry: float, dry: _Composition) -> tuple[float | None, ...]:
    hydrogen, oxygen, nitrogen = dry.hydrogen, dry.oxygen or 0.0, dry.nitrogen or 0.0
    return tuple(
        [
            None if moisture is None else net.net_constant_pressure(gross_dry, hydrogen, oxygen, nitrogen, moisture)
            for moisture in _moistures(contents)
        ]
    )


def _moistures(contents: Contents) -> tuple[float | None, ...]:
    """Return the moisture (%) of the fuel in the states that ``NET_BASES`` names."""
    return contents.moisture_analysis, 0.0, contents.moisture_total


def _without_hydrogen(gross_ad_J_per_g: float, settings: Settings) -> NetValues:
    value = _estimate(gross_ad_J_per_g, settings)
    if value is None:
        return _WITHOUT_HYDROGEN
    note = "hydrogen is not known: estimated for a petroleum liquid by 10.025 + 0.7195 gross (from memory, unchecked)"
    assumed = ("what the estimate without hydrogen is worth",)
    return NetValues({**_NOTHING, Basis.AS_ANALYSED: value}, _NOTHING, (note,), assumed)


def _estimate(gross_ad_J_per_g: float, settings: Settings) -> float | None:
    """Return the net value as analysed (J/g) of a liquid whose hydrogen is not known; None under other methods."""
    if settings.method not in LIQUID_METHODS:
        return None
    return 1000.0 * net.net_of_liquid_without_hydrogen(gross_ad_J_per_g / 1000.0)


def _composition(contents: Contents) -> _Composition | str:
    """Return what the water of the products depends on, or why it is not known."""
    hydrogen, problem = _hydrogen_dry(contents)
    if hydrogen is None:
        return problem
    nitrogen = contents.on_dry("nitrogen")
    oxygen, how = _oxygen_dry(contents, hydrogen, nitrogen)
    return _Composition(hydrogen, oxygen, nitrogen, how)


def _hydrogen_dry(contents: Contents) -> tuple[float | None, str]:
    """Return the hydrogen (%, dry) without that of the moisture, or None and why."""
    row = contents.row
    value, basis = (contents.given["hydrogen"], row.bases.get("hydrogen")) if row else (0.0, None)
    if row is None or basis is None:
        return None, "the basis of the hydrogen is not given"
    moisture = {Basis.AS_ANALYSED: contents.moisture_analysis, Basis.AS_RECEIVED: contents.moisture_total}.get(
        basis, 0.0
    )
    if moisture is None:
        return None, f"hydrogen is given {basis}, and the moisture of that state is missing"
    if moisture > 0:
        if row.hydrogen_includes_moisture is None:
            return None, "it is not said whether the hydrogen includes that of the moisture"
        if row.hydrogen_includes_moisture is YesNo.YES:
            value = net.hydrogen_without_moisture(value, moisture)
    if value < 0:
        return None, "the moisture alone has more hydrogen than is given"
    dry = contents.to_dry(value, basis)
    return dry, "" if dry is not None else f"hydrogen is given {basis}, which cannot be turned into dry"


def _oxygen_dry(contents: Contents, hydrogen: float, nitrogen: float | None) -> tuple[float | None, str]:
    """Return the oxygen (%, dry) as given or by difference, and how where it was not simply given."""
    given = contents.on_dry("oxygen")
    if given is not None:
        return given, ""
    others = {name: contents.on_dry(name) for name in ("carbon", "sulphur", "ash")}
    carbon, sulphur, ash = others.values()
    if carbon is None or sulphur is None or ash is None or nitrogen is None:
        return None, ""
    found = net.oxygen_by_difference(carbon, hydrogen, nitrogen, sulphur, ash)
    if found < 0:
        return None, "oxygen by difference comes out below 0"
    return found, f"oxygen by difference: {found:.2f} % dry"
