"""The items that repeat, each with a name in square brackets."""

from batchcal.items.item import SetupItem

LABELLED: tuple[SetupItem, ...] = (
    SetupItem(
        "heat_capacity",
        "Effective heat capacity",
        "number",
        "Only where no series stands on Calibration; with Source and In force from.",
        quantity="energy per kelvin",
        unit="J/K",
        labelled="calorimeter/bomb",
    ),
    SetupItem(
        "aid_heat",
        "Aid heat",
        "number",
        "Heat of combustion of a combustion aid, by the name used in the Aid columns.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
    SetupItem(
        "capsule_heat",
        "Capsule heat",
        "number",
        "Heat of combustion of the material of the capsules under Capsule mass; one kind a workbook.",
        quantity="energy per mass",
        unit="J/g",
        labelled="name",
    ),
)
