"""The items of Setup that only a certificate needs: nothing is computed with them."""

from typing import Protocol

from msgspec.structs import replace

from batchcal.model import Quantity, Settings


class Reader(Protocol):
    """What reads the items of Setup."""

    def text(self, key: str) -> str:
        """Return a text, "" where it is blank."""

    def number(self, key: str) -> Quantity | None:
        """Return a number in inside units, None where it is blank or was found unfit."""


def with_certificate_items(settings: Settings, reader: Reader) -> Settings:
    """Return the settings with the items of a certificate."""
    return replace(
        settings,
        laboratory_address=reader.text("laboratory_address"),
        customer=reader.text("customer"),
        certificate_number=reader.text("certificate_number"),
        method_edition=reader.text("method_edition"),
        method_deviations=reader.text("method_deviations"),
        reference_temperature=reader.number("reference_temperature"),
        decision_rule=reader.text("decision_rule"),
    )
