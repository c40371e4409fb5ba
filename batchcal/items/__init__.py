"""The items of the Setup sheet: names, what each takes, and what it is for; part of the contract with the user."""

from batchcal.items.certificate import CERTIFICATE
from batchcal.items.day import DAY
from batchcal.items.heats import HEATS
from batchcal.items.item import ItemKind, SetupItem
from batchcal.items.labelled import LABELLED
from batchcal.items.limits import LIMITS
from batchcal.items.rules import RULES
from batchcal.items.uncertainties import UNCERTAINTIES

__all__ = ["SETUP_ITEMS", "SETUP_ITEMS_BY_KEY", "ItemKind", "SetupItem"]

SETUP_ITEMS: tuple[SetupItem, ...] = (
    *DAY,
    *HEATS,
    *RULES,
    *UNCERTAINTIES,
    *LIMITS,
    *CERTIFICATE,
    *LABELLED,
)
"""Every item, in the order in which Setup lists them."""

SETUP_ITEMS_BY_KEY = {item.key: item for item in SETUP_ITEMS}
