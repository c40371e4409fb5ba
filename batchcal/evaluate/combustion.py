"""Working out single firings: the heat capacity one gives, or the calorific value it finds."""

from collections.abc import Sequence

from msgspec import Struct

from batchcal import reference
from batchcal.evaluate import acids as acid_heats
from batchcal.evaluate import charge, curves, wording
from batchcal.evaluate.charge import Doubts
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.formulas import bomb
from batchcal.logged import Aid
from batchcal.model import Settings
from batchcal.terms import FiringState, Purpose

GROSS_HIGHEST_J_PER_G = reference.constant("gross-highest").value
"""Above this no calorific value can be right."""


class Rules(Struct, frozen=True):
    """What holds for every firing of the day: the settings and what is missing from them.

    ``setup_stops`` keep every firing from being computed; ``benzoic_stops`` those with benzoic acid.
    """

    settings: Settings
    setup_stops: tuple[Finding, ...] = ()
    benzoic_stops: tuple[Finding, ...] = ()


def work_out_calibration(firing: Firing, rules: Rules) -> None:
    """Find the effective heat capacity from one benzoic acid firing."""
    if _stopped(firing, [*rules.setup_stops, *rules.benzoic_stops]):
        return
    doubts = Doubts(firing.row)
    parts = _charge(firing, rules.settings, doubts)
    certified = charge.benzoic_heat(firing.row, rules.settings, firing.mass_g, doubts)
    if parts is not None and certified is not None:
        mass_g, theta_K, ignition_J, aid_J = parts
        acid = _acids(firing, rules, doubts, bomb_energy_J=mass_g * certified)
        if acid is not None:
            firing.heat_capacity_J_per_K = bomb.effective_heat_capacity(
                mass_g=mass_g,
                heat_of_combustion_J_per_g=certified,
                ignition_J=ignition_J,
                aid_J=aid_J,
                nitric_J=acid.nitric_J,
                corrected_rise_K=theta_K,
            )
    _finish(firing, doubts, complete=firing.heat_capacity_J_per_K is not None)


def work_out_aid(firing: Firing, aid: Aid, rules: Rules) -> float | None:
    """Return the heat of combustion (J/g) of an aid that was burnt with benzoic acid, from one aid firing.

    The heat capacity in force is on the firing already; the row's sample mass is the benzoic acid's. The heat of the
    capsule and of the other aids is known and counts with that of the ignition.
    """
    if _stopped(firing, [*rules.setup_stops, *rules.benzoic_stops]):
        return None
    row = firing.row
    doubts = Doubts(row)
    parts = _charge(firing, rules.settings, doubts, with_aid=False)
    others = [other for other in charge.aids(row, doubts) if other.number != aid.number]
    others_J = charge.known_aid_heat(row, others, rules.settings, doubts)
    certified = charge.benzoic_heat(row, rules.settings, firing.mass_g, doubts)
    capacity = _capacity(firing)
    found = None
    if parts is not None and others_J is not None and certified is not None and capacity is not None and aid.mass_g:
        mass_g, theta_K, ignition_J, _ = parts
        acid = _acids(firing, rules, doubts, bomb_energy_J=capacity * theta_K - ignition_J - others_J)
        if acid is not None:
            value = bomb.heat_of_aid(
                heat_capacity_J_per_K=capacity,
                corrected_rise_K=theta_K,
                ignition_J=ignition_J + others_J,
                nitric_J=acid.nitric_J,
                benzoic_mass_g=mass_g,
                heat_of_combustion_J_per_g=certified,
                aid_mass_g=aid.mass_g,
            )
            if 0 < value <= GROSS_HIGHEST_J_PER_G:
                found = value
                firing.aid_J = value * aid.mass_g + others_J
                firing.aid_found = aid.key
            else:
                doubts.add("gross-unfit", aid.mass_field, value=wording.whole(value))
    _finish(firing, doubts, complete=found is not None)
    return found


def work_out_fuel(firing: Firing, rules: Rules, sulphur_percent: float | None) -> None:
    """Find the gross calorific value at constant volume, as analysed, of a sample or a check firing.

    ``sulphur_percent`` is on the as analysed basis; None where the scheme does without it.
    """
    if _stopped(firing, rules.setup_stops):
        return
    doubts = Doubts(firing.row)
    parts = _charge(firing, rules.settings, doubts)
    capacity = _capacity(firing)
    if parts is not None and capacity is not None:
        mass_g, theta_K, ignition_J, aid_J = parts
        acid = _acids(
            firing,
            rules,
            doubts,
            bomb_energy_J=capacity * theta_K - ignition_J - aid_J,
            sulphur_percent=sulphur_percent,
        )
        if acid is not None:
            value = bomb.gross_calorific_value(
                heat_capacity_J_per_K=capacity,
                corrected_rise_K=theta_K,
                ignition_J=ignition_J,
                aid_J=aid_J,
                nitric_J=acid.nitric_J,
                sulphuric_J=acid.sulphuric_J,
                mass_g=mass_g,
            )
            if 0 < value <= GROSS_HIGHEST_J_PER_G:
                firing.gross_ad_J_per_g = value
            else:
                doubts.add("gross-unfit", "mass_g", value=wording.whole(value))
    _finish(firing, doubts, complete=firing.gross_ad_J_per_g is not None)


def _acids(
    firing: Firing, rules: Rules, doubts: Doubts, *, bomb_energy_J: float, sulphur_percent: float | None = 0.0
) -> acid_heats.Heats | None:
    """Find the acid heats of a firing whose charge is known, and keep them on it; only a sample has sulphur."""
    acid = acid_heats.heats(
        firing.titration,
        rules.settings,
        doubts,
        mass_g=firing.mass_g or 0.0,
        sulphur_percent=sulphur_percent,
        bomb_energy_J=bomb_energy_J,
        benzoic=firing.purpose is not Purpose.SAMPLE,
    )
    if acid is not None:
        firing.nitric_J, firing.sulphuric_J, firing.acid_mol = acid.nitric_J, acid.sulphuric_J, acid.acid_mol
    return acid


def _capacity(firing: Firing) -> float | None:
    """Return the heat capacity for this firing's rise, and keep it on the firing."""
    theta_K = firing.corrected_rise_K
    if firing.series is not None and theta_K is not None:
        firing.heat_capacity_J_per_K = firing.series.at_rise(theta_K)
    return firing.heat_capacity_J_per_K


def _stopped(firing: Firing, stops: Sequence[Finding]) -> bool:
    """Give the firing up where Setup or its titration lacks something; the finding stands once, not on each row."""
    if stops:
        firing.stop(*stops)
    return bool(stops)


def _charge(
    firing: Firing, settings: Settings, doubts: Doubts, *, with_aid: bool = True
) -> tuple[float, float, float, float] | None:
    """Return mass, corrected rise, ignition and aid heat; None where one of them could not be found."""
    row = firing.row
    firing.mass_g = charge.mass(row, doubts)
    if firing.curve is not None:
        firing.rise_K, firing.heat_exchange_K = curves.rise_and_correction(row, firing.curve, settings, doubts)
    else:
        firing.rise_K = charge.rise(row, settings, doubts)
        firing.heat_exchange_K = row.heat_exchange_K or 0.0
    firing.ignition_J = charge.ignition_heat(row, settings, doubts)
    firing.aid_J = charge.aid_heat(row, settings, doubts) if with_aid else 0.0
    theta_K = firing.corrected_rise_K
    if firing.mass_g is None or theta_K is None or firing.ignition_J is None or firing.aid_J is None:
        return None
    if theta_K <= 0:
        doubts.add("rise-unfit", "heat_exchange_K", rise=f"{theta_K:.4f}", reason="with the heat-exchange correction")
        return None
    return firing.mass_g, theta_K, firing.ignition_J, firing.aid_J


def _finish(firing: Firing, doubts: Doubts, *, complete: bool) -> None:
    """Attach the doubts; a firing that is set aside keeps what could be computed and raises nothing."""
    if (complete and not doubts.found) or firing.state is FiringState.SET_ASIDE:
        return
    firing.attach(doubts.found)
    stops = [finding for finding in doubts.found if finding.severity.stops]
    if stops or not complete:
        firing.stop(*stops)


def needs_titre(settings: Settings) -> bool:
    """Whether the scheme in force reads the Titration sheet."""
    return settings.acid_scheme is not None and settings.acid_scheme.uses_titre


def needs_sulphur(settings: Settings) -> bool:
    """Whether the scheme in force needs a sample's sulphur from another bench."""
    return settings.acid_scheme is not None and settings.acid_scheme.uses_bench_sulphur
