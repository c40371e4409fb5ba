"""What a firing must not go beyond, from the equipment's instructions."""

from batchcal.items.item import SetupItem

LIMITS: tuple[SetupItem, ...] = (
    SetupItem(
        "max_charge_energy",
        "Maximum charge energy",
        "number",
        "From the equipment's instructions. Blank: nothing is checked, and the page says so.",
        quantity="energy",
        unit="kJ",
        safety=True,
    ),
    SetupItem(
        "max_sample_mass",
        "Maximum sample mass",
        "number",
        "Sample and aids together, from the equipment's instructions.",
        quantity="mass",
        unit="g",
        safety=True,
    ),
    SetupItem(
        "max_oxygen_pressure",
        "Maximum oxygen pressure",
        "number",
        "From the equipment's instructions and the local code.",
        quantity="pressure",
        unit="MPa",
        safety=True,
    ),
    SetupItem(
        "min_oxygen_pressure",
        "Minimum oxygen pressure",
        "number",
        "Below it burning may be incomplete; from the method or the equipment's instructions.",
        quantity="pressure",
        unit="MPa",
        safety=True,
    ),
    SetupItem(
        "chlorine_limit",
        "Chlorine limit",
        "number",
        "Most chlorine in what is fired, as analysed, from the equipment's instructions. Blank: not checked.",
        quantity="percentage",
        unit="%",
    ),
)
