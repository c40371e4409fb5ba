"""Invented fuels of known composition and calorific value."""

import datetime as dt
import random
from dataclasses import dataclass
from typing import Any

Span = tuple[float, float]


@dataclass(frozen=True)
class FuelClass:
    """What a kind of fuel is made of: ash and sulphur dry, the elements and volatile matter dry ash-free, all in %."""

    name: str
    ash_d: Span
    sulphur_d: Span
    hydrogen_daf: Span
    nitrogen_daf: Span
    oxygen_daf: Span
    volatile_daf: Span | None
    moisture_ad: Span
    further_moisture: Span
    scatter: float = 0.007
    """Relative standard deviation of the value about that of the composition."""


CLASSES = {
    fuel.name: fuel
    for fuel in (
        FuelClass("hard coal", (6, 18), (0.4, 2.4), (4.6, 5.4), (1.4, 1.8), (6, 11), (30, 40), (1.5, 4), (4, 9)),
        FuelClass("lignite", (8, 20), (0.6, 3), (4.6, 5.2), (0.8, 1.2), (20, 26), (48, 56), (8, 13), (22, 32)),
        FuelClass("wood", (0.3, 1.5), (0.01, 0.04), (5.8, 6.2), (0.1, 0.4), (42, 45), (80, 86), (5, 8), (3, 22)),
        FuelClass("refuse-derived fuel", (10, 20), (0.15, 0.5), (6.4, 8), (0.6, 1.2), (24, 32), (84, 92), (2, 5),
                  (10, 20)),
        FuelClass("heavy oil", (0.02, 0.08), (0.5, 2.4), (10.4, 11.8), (0.2, 0.5), (0.3, 0.8), None, (0.05, 0.2),
                  (0.05, 0.2)),
    )
}  # fmt: skip


ONE_SEAM = FuelClass("hard coal", (11.0, 11.4), (0.78, 0.82), (4.9, 5.0), (1.5, 1.6), (8, 8.2), (34, 35), (2.4, 2.7),
                     (6, 6.5), 0.001)  # fmt: skip
"""Hard coal of one seam, day after day."""

RICH_IN_NITROGEN = (
    FuelClass("feed", (4, 8), (0.2, 0.4), (6.3, 6.8), (2.5, 6.5), (36, 41), (78, 84), (8, 11), (0.5, 2)),
    FuelClass("sewage sludge", (25, 45), (0.8, 1.8), (6.5, 7.5), (5, 9), (28, 34), (85, 92), (4, 8), (60, 70)),
)
"""Fuels whose own nitrogen adds to the nitric acid in the washings."""


def dry_value_J_per_g(
    *, carbon: float, hydrogen: float, sulphur: float, oxygen: float, nitrogen: float, ash: float
) -> float:
    """Return a gross calorific value in keeping with a composition (% dry).

    A general correlation for fuels, recalled as that of Channiwala and Parikh (Fuel, 2002), unchecked. Nothing
    rests on it but that an invented fuel is not absurd.
    """
    return 10.0 * (34.91 * carbon + 117.83 * hydrogen + 10.05 * sulphur - 10.34 * oxygen - 1.51 * nitrogen - 2.11 * ash)


def make_sample(
    rng: random.Random, fuel: FuelClass, sample_no: str, basis: str, date: dt.date
) -> tuple[dict[str, Any], float]:
    """Return the row of Samples and the true gross calorific value, dry (J/g), of a fuel of a class.

    The contents add up to 100 with the carbon, which is the remainder.
    """
    ash = rng.uniform(*fuel.ash_d)
    sulphur = rng.uniform(*fuel.sulphur_d)
    organic = (100 - ash - sulphur) / 100
    hydrogen = organic * rng.uniform(*fuel.hydrogen_daf)
    nitrogen = organic * rng.uniform(*fuel.nitrogen_daf)
    oxygen = organic * rng.uniform(*fuel.oxygen_daf)
    volatile = None if fuel.volatile_daf is None else (100 - ash) / 100 * rng.uniform(*fuel.volatile_daf)
    carbon = 100 - ash - sulphur - hydrogen - nitrogen - oxygen
    value = dry_value_J_per_g(
        carbon=carbon, hydrogen=hydrogen, sulphur=sulphur, oxygen=oxygen, nitrogen=nitrogen, ash=ash
    ) * (1 + rng.gauss(0, fuel.scatter))
    moisture = round(rng.uniform(*fuel.moisture_ad), 2)
    factor = 1.0 if basis == "d" else (100 - moisture) / 100
    contents = {
        "Ash (%)": round(ash * factor, 2),
        "Sulphur (%)": round(sulphur * factor, 2),
        "Hydrogen (%)": round(hydrogen * factor, 2),
        "Nitrogen (%)": round(nitrogen * factor, 2),
        "Oxygen (%)": round(oxygen * factor, 2),
    }
    row: dict[str, Any] = {
        "Sample no.": sample_no,
        "Description": f"{fuel.name.capitalize()} (invented)",
        "Fuel class": fuel.name,
        "Source": "Invented source",
        "Moisture, analysis (%)": moisture,
        "Moisture, total (%)": round(moisture + rng.uniform(*fuel.further_moisture), 2),
        **contents,
        "Volatile matter (%)": None if volatile is None else round(volatile * factor, 2),
        "Carbon (%)": round(100 * factor - sum(contents.values()), 2),
        "Basis": basis,
        "Hydrogen includes moisture": "no",
        "Moisture date": date,
    }
    return row, value
