"""The kinds of cases: which formula each file of check values asks, and which values it compares."""

from collections.abc import Iterator

from batchcal import units
from batchcal.formulas import acids, bases, bomb, composition, heat_exchange, net, statistics, weighing
from batchcal.reference import constant
from batchcal.terms import Basis
from batchcal.verification.checks import Check, Kind, Row, check, number, numbers, series
from batchcal.verification.statistical import STATISTICAL_KINDS

_CALORIE_J = constant("calorie-thermochemical").value


def _joules(row: Row) -> float:
    """Return the joules of the row's unit of energy; any calorie does, the heat balance is homogeneous in energy."""
    return {"J": 1.0, "cal": _CALORIE_J}[row["energy_unit"]]


def _heat_capacity(row: Row) -> Iterator[Check]:
    joules = _joules(row)
    found = bomb.effective_heat_capacity(
        mass_g=number(row, "mass_g"),
        heat_of_combustion_J_per_g=number(row, "heat_of_combustion_per_g") * joules,
        ignition_J=number(row, "ignition") * joules,
        aid_J=number(row, "aid") * joules,
        nitric_J=number(row, "nitric") * joules,
        corrected_rise_K=number(row, "corrected_rise_K"),
    )
    yield check(row, "effective heat capacity", f"{row['energy_unit']}/K", found / joules, "expected_per_K")


def _gross(row: Row) -> Iterator[Check]:
    joules = _joules(row)
    found = bomb.gross_calorific_value(
        heat_capacity_J_per_K=number(row, "heat_capacity_per_K") * joules,
        corrected_rise_K=number(row, "corrected_rise_K"),
        ignition_J=number(row, "ignition") * joules,
        aid_J=number(row, "aid") * joules,
        nitric_J=number(row, "nitric") * joules,
        sulphuric_J=number(row, "sulphuric") * joules,
        mass_g=number(row, "mass_g"),
    )
    if row["molar_mass_g_per_mol"]:
        molar = found / joules * number(row, "molar_mass_g_per_mol") / 1000.0
        yield check(row, "molar heat of combustion", f"k{row['energy_unit']}/mol", molar)
    else:
        yield check(row, "gross calorific value", f"{row['energy_unit']}/g", found / joules)


def _on_basis(row: Row, value: float, moisture: float) -> float:
    match Basis(row["basis"]):
        case Basis.DRY:
            return bases.dry_from_as_analysed(value, moisture)
        case Basis.AS_RECEIVED:
            return bases.as_received_from_as_analysed(value, moisture, number(row, "moisture_total_percent"))
        case Basis.DRY_ASH_FREE:
            ash = row.get("ash_analysis_percent") or row["ash_percent"]
            return bases.dry_ash_free_from_as_analysed(value, moisture, float(ash))
        case Basis.AS_ANALYSED:
            return value


def _bases(row: Row) -> Iterator[Check]:
    found = _on_basis(row, number(row, "value"), number(row, "moisture_analysis_percent"))
    yield check(row, f"content, {row['basis']}", "%", found)


def _contents(row: Row) -> Iterator[Check]:
    moisture = number(row, "moisture_percent")
    without = {"hydrogen": net.hydrogen_without_moisture, "oxygen": net.oxygen_without_moisture}[row["element"]]
    found = _on_basis(row, without(number(row, "value_percent"), moisture), moisture)
    yield check(row, f"{row['element']} without that of the moisture, {row['basis']}", "%", found)


def _weighing(row: Row) -> Iterator[Check]:
    names = ("heat_in_vacuum_J_per_g", "density_g_per_cm3", "weight_density_g_per_cm3", "air_density_g_per_cm3")
    yield check(row, "heat of combustion as weighed in air", "J/g", weighing.heat_in_air(**numbers(row, *names)))


_ACID_NAMES = ("acid_mol", "sulphur_mol", "nitric_heat_J_per_mol", "sulphuric_heat_J_per_mol")


def _total_as_nitric(row: Row) -> Iterator[Check]:
    nitric, sulphuric = acids.total_as_nitric(**numbers(row, *_ACID_NAMES))
    yield check(row, "nitric acid heat", "J", nitric, "expected_nitric_J")
    yield check(row, "sulphuric acid heat", "J", sulphuric, "expected_sulphuric_J")


def _sulphur_apart(row: Row) -> Iterator[Check]:
    yield check(
        row, "acid heats together", "J", sum(acids.sulphur_apart(**numbers(row, *_ACID_NAMES))), "expected_sum_J"
    )


def _two_titrations(row: Row) -> Iterator[Check]:
    names = ("baryta_mL", "baryta_eq_per_L", "carbonate_mL", "carbonate_eq_per_L", "acid_mL", "acid_eq_per_L")
    nitric, sulphuric = acids.two_titrations_mol(**numbers(row, *names))
    heats = nitric * number(row, "nitric_heat_J_per_mol"), sulphuric * number(row, "sulphuric_heat_J_per_mol")
    yield check(row, "nitric acid heat", "J", heats[0], "expected_nitric_J")
    yield check(row, "sulphuric acid heat", "J", heats[1], "expected_sulphuric_J")


def _period(row: Row, period: str, times: list[float], temperatures: list[float]) -> heat_exchange.Drift:
    """Return the fore or after period: the rate that the source states, or a line through the readings outside."""
    if row[f"{period}_rate_K_per_min"]:
        rate, mean_C = number(row, f"{period}_rate_K_per_min"), number(row, f"{period}_mean_C")
        return heat_exchange.Drift(rate, 0.0, mean_C, 0.0, 0)
    first, last = number(row, "main_from_min"), number(row, "main_to_min")
    pairs = [
        (time, value)
        for time, value in zip(times, temperatures, strict=True)
        if (time <= first if period == "fore" else time >= last)
    ]
    return heat_exchange.drift([time for time, _ in pairs], [value for _, value in pairs])


def _heat_exchange(row: Row) -> Iterator[Check]:
    times, temperatures = series(row, "times_min"), series(row, "temperatures_C")
    fore, after = (_period(row, period, times, temperatures) for period in ("fore", "after"))
    start, end = number(row, "main_from_min"), number(row, "main_to_min")
    inside = [(time, value) for time, value in zip(times, temperatures, strict=True) if start <= time <= end]
    main_times, main_C = [time for time, _ in inside], [value for _, value in inside]
    middle: float | None = None
    match row["rule"]:
        case "two rates":
            middle = heat_exchange.mean_temperature(main_times, main_C)
            found = heat_exchange.two_rates(fore, after, main_times, main_C)
        case "plain mean":
            middle = statistics.mean(temperatures)
            found = heat_exchange.two_rates(fore, after, [start, end], [middle, middle])
        case "fraction":
            found = heat_exchange.six_tenths(fore, after, main_times, main_C, number(row, "fraction"))
        case "six tenths":
            found = heat_exchange.six_tenths(fore, after, main_times, main_C)
        case rule:
            raise ValueError(f"no rule of heat exchange is called {rule!r}")
    if middle is not None and row["expected_mean_C"]:
        wrong = row["mean_printed_wrong"]
        yield Check(
            "mean temperature of the main period",
            "°C",
            number(row, "expected_mean_C"),
            number(row, "mean_tolerance"),
            middle,
            float(wrong) if wrong else None,
        )
    yield check(row, "heat-exchange correction", "K", found, "expected_K")


def _net(row: Row) -> Iterator[Check]:
    gross, hydrogen = number(row, "gross_J_or_cal_per_g"), number(row, "hydrogen_percent")
    unit = f"{row['energy_unit']}/g"
    match row["rule"]:
        case "latent heat":
            found = net.net_constant_volume(gross, hydrogen, 0.0, hydrogen=number(row, "hydrogen_factor"))
            yield check(row, "net calorific value, by the source's latent heat", unit, found)
        case "constant volume":
            found = net.net_constant_volume(gross, hydrogen, number(row, "moisture_percent"))
            yield check(row, "net calorific value at constant volume", unit, found)
        case "constant pressure":
            contents = numbers(row, "oxygen_percent", "nitrogen_percent", "moisture_percent")
            found = net.net_constant_pressure(gross, hydrogen, *contents.values())
            yield check(row, "net calorific value at constant pressure", unit, found)
        case rule:
            raise ValueError(f"no rule of net values is called {rule!r}")


def _composition(row: Row) -> Iterator[Check]:
    given = {name: number(row, f"{name}_percent") for name in ("carbon", "hydrogen", "sulphur", "oxygen")}
    match row["rule"]:
        case "general":
            nitrogen, ash = number(row, "nitrogen_percent"), number(row, "ash_percent")
            found = composition.gross_from_composition(**given, nitrogen=nitrogen, ash=ash)
        case "coal":
            found = composition.gross_of_coal(**given)
        case rule:
            raise ValueError(f"no rule of composition is called {rule!r}")
    unit = {"MJ/kg": 1000.0, "cal/g": constant("calorie-international").value}[row["unit"]]
    yield check(row, "gross calorific value expected of the composition", row["unit"], found / unit)


def _constants(row: Row) -> Iterator[Check]:
    known = constant(row["constant"])
    yield check(row, known.name, row["unit"], known.value)


def _units(row: Row) -> Iterator[Check]:
    unit = units.read(row["unit"], "energy per mass")
    if unit is None:
        raise ValueError(f"{row['unit']} is not read as a unit")
    calorie = constant(row["calorie"]).value if row["calorie"] else None
    yield check(
        row, "the same value in another unit", row["unit"], number(row, "value_J_per_g") / unit.inside(1.0, calorie)
    )


KINDS = (
    Kind("heat_capacity.csv", "Effective heat capacity", ("bomb.effective_heat_capacity",), _heat_capacity),
    Kind("gross.csv", "Gross calorific value at constant volume", ("bomb.gross_calorific_value",), _gross),
    Kind("weighing.csv", "Heat of combustion in vacuum and in air", ("weighing.heat_in_air",), _weighing),
    Kind(
        "heat_exchange.csv",
        "Heat exchange from time readings",
        ("heat_exchange.two_rates", "heat_exchange.six_tenths", "heat_exchange.mean_temperature"),
        _heat_exchange,
    ),
    Kind("acids_total_as_nitric.csv", "Acids, total as nitric", ("acids.total_as_nitric",), _total_as_nitric),
    Kind("acids_sulphur_apart.csv", "Acids, sulphur apart", ("acids.sulphur_apart",), _sulphur_apart),
    Kind("acids_two_titrations.csv", "Acids, two titrations", ("acids.two_titrations_mol",), _two_titrations),
    Kind(
        "bases.csv",
        "Bases",
        (
            "bases.dry_from_as_analysed",
            "bases.as_received_from_as_analysed",
            "bases.dry_ash_free_from_as_analysed",
        ),
        _bases,
    ),
    Kind(
        "contents.csv",
        "Hydrogen and oxygen without moisture",
        ("net.hydrogen_without_moisture", "net.oxygen_without_moisture"),
        _contents,
    ),
    Kind("net.csv", "Net calorific value", ("net.net_constant_pressure", "net.net_constant_volume"), _net),
    Kind(
        "composition.csv",
        "Gross value expected of a composition",
        ("composition.gross_from_composition", "composition.gross_of_coal"),
        _composition,
    ),
    *STATISTICAL_KINDS,
    Kind("constants.csv", "Constants", (), _constants),
    Kind("units.csv", "Units of energy", ("units.read",), _units),
)
"""Every kind, in the order of the record."""
