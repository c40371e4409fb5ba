"""What an item of Setup is."""

from typing import Literal

from msgspec import Struct

ItemKind = Literal["text", "choice", "choices", "date", "number"]


class SetupItem(Struct, frozen=True):
    """One item of the Setup sheet: its exact name, what it takes and what it is for.

    ``quantity`` names a family of units in :mod:`batchcal.units`; ``unit`` is what the blank workbook
    proposes. ``labelled`` items repeat, each with a name in square brackets. ``from_method`` items take
    the word "method" in place of a number. ``choices`` close the list, except that a number is allowed
    too where ``kind`` is "number".
    """

    key: str
    name: str
    kind: ItemKind
    note: str
    quantity: str | None = None
    unit: str | None = None
    choices: tuple[str, ...] = ()
    labelled: str | None = None
    from_method: bool = False
    safety: bool = False

    @property
    def figure(self) -> str:
        """Key of the method's figure that the word "method" stands for."""
        return "repeatability" if self.key == "repeatability_limit" else self.key
