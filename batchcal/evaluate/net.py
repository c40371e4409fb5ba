"""Net calorific values of a sample from its gross value and its composition."""

from collections.abc import Mapping

from batchcal.evaluate.contents import Contents
from batchcal.formulas import net
from batchcal.model import NetValues, Settings
from batchcal.terms import NET_BASES, Basis, YesNo

LIQUID_METHODS = ("astm-d240", "astm-d4809")
"""Methods for liquid fuels, under which a net value may be estimated where the hydrogen is not known."""

NO_GROSS = "there is no gross value to start from"
"""Why a sample that is not ready has no net value; its own findings say what is to be done."""


def net_values(contents: Contents, gross_ad_J_per_g: float | None, settings: Settings) -> NetValues:
    """Return the net values that can be worked out, and notes on what they rest on or what is missing.

    At constant pressure oxygen and nitrogen that are not known are taken as 0, and the note says what that is
    worth. Hydrogen must be known, and whether it includes that of the moisture where its basis leaves that open.
    """
    nothing: Mapping[Basis, float | None] = dict.fromkeys(NET_BASES)
    row = contents.row
    if gross_ad_J_per_g is None:
        return NetValues(nothing, nothing, (NO_GROSS,))
    moistures = {
        Basis.AS_ANALYSED: contents.moisture_analysis,
        Basis.DRY: 0.0,
        Basis.AS_RECEIVED: contents.moisture_total,
    }
    gross_dry = contents.value_on(Basis.DRY, gross_ad_J_per_g)
    if row is None or "hydrogen" not in row.contents:
        return _without_hydrogen(gross_ad_J_per_g, settings)
    if gross_dry is None:
        return NetValues(nothing, nothing, ("analysis moisture is missing",))
    hydrogen, problem = _hydrogen_dry(contents)
    if hydrogen is None:
        return NetValues(nothing, nothing, (problem,))
    notes, assumed = [], []
    nitrogen = contents.on_dry("nitrogen")
    oxygen, how = _oxygen_dry(contents, hydrogen, nitrogen)
    if how:
        notes.append(how)
    if oxygen is None:
        assumed.append("the oxygen, which is not known and taken as 0")
        notes.append(f"oxygen is not known and taken as 0; each 1 % lowers the value by {net.OXYGEN_P:.2f} J/g")
    if nitrogen is None:
        assumed.append("the nitrogen, which is not known and taken as 0")
        notes.append(f"nitrogen is not known and taken as 0; each 1 % lowers the value by {net.NITROGEN_P:.2f} J/g")
    pressure: dict[Basis, float | None] = dict.fromkeys(NET_BASES)
    volume: dict[Basis, float | None] = dict.fromkeys(NET_BASES)
    for basis, moisture in moistures.items():
        if moisture is not None:
            pressure[basis] = net.net_constant_pressure(gross_dry, hydrogen, oxygen or 0.0, nitrogen or 0.0, moisture)
            volume[basis] = net.net_constant_volume(gross_dry, hydrogen, moisture)
    return NetValues(pressure, volume, tuple(notes), tuple(assumed))


def _without_hydrogen(gross_ad_J_per_g: float, settings: Settings) -> NetValues:
    nothing: Mapping[Basis, float | None] = dict.fromkeys(NET_BASES)
    if settings.method not in LIQUID_METHODS:
        return NetValues(nothing, nothing, ("no hydrogen is given",))
    value = 1000.0 * net.net_of_liquid_without_hydrogen(gross_ad_J_per_g / 1000.0)
    note = "hydrogen is not known: estimated for a petroleum liquid by 10.025 + 0.7195 gross (from memory, unchecked)"
    assumed = ("what the estimate without hydrogen is worth",)
    return NetValues({**nothing, Basis.AS_ANALYSED: value}, nothing, (note,), assumed)


def _hydrogen_dry(contents: Contents) -> tuple[float | None, str]:
    """Return the hydrogen (%, dry) without that of the moisture, or None and why."""
    row = contents.row
    value, basis = (row.contents["hydrogen"], row.bases.get("hydrogen")) if row else (0.0, None)
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
