"""The record on the page: settings and constants in force, each with its source and mark."""

from collections.abc import Sequence

from msgspec import Struct

from batchcal.items import SETUP_ITEMS
from batchcal.logged import SetupEntry
from batchcal.model import Evaluation, Quantity, Settings
from batchcal.report.words import NONE, aligned, date, plain, unstopped
from batchcal.terms import FurtherTestRule


class SettingRow(Struct, frozen=True):
    """One item: as the lab entered it, and the number in force in the unit used inside."""

    item: str
    entered: str
    number: str
    unit: str
    source: str
    mark: str
    where: str


class ConstantRow(Struct, frozen=True):
    """One constant in force."""

    name: str
    number: str
    unit: str
    source: str
    mark: str


def setting_rows(evaluation: Evaluation) -> tuple[SettingRow, ...]:
    """Return every item of Setup that is filled or in force, in Setup's order."""
    settings = evaluation.settings
    rows: list[SettingRow] = []
    for item in SETUP_ITEMS:
        if item.labelled is not None:
            rows += [_row(name, quantity, None) for name, quantity in _labelled(settings, item.key, item.name)]
        else:
            value = getattr(settings, item.key)
            quantity = value if isinstance(value, Quantity) else None
            rows.append(_row(item.name, quantity, settings.entries.get(item.key), _word(settings, item.key)))
        if item.key == "benzoic_mass_basis" and settings.benzoic_heat_in_air is not None:
            in_air = settings.benzoic_heat_in_air
            if in_air != settings.benzoic_heat:
                rows.append(_row(in_air.name, in_air, None))
    rows = [row for row in rows if row.entered]
    numbers = aligned([row.number for row in rows])
    return tuple(
        SettingRow(row.item, row.entered, number, row.unit, row.source, row.mark, row.where)
        for row, number in zip(rows, numbers, strict=True)
    )


def blank_items(evaluation: Evaluation) -> tuple[str, ...]:
    """Return the items of Setup that are blank, so that what is not in force is said as well."""
    filled = {row.item for row in setting_rows(evaluation)}
    named = {row.partition(" [")[0] for row in filled}
    return tuple(item.name for item in SETUP_ITEMS if item.name not in named)


def constant_rows(constants: Sequence[Quantity]) -> tuple[ConstantRow, ...]:
    """Return the constants in force, in the order given."""
    numbers = aligned([plain(constant.value) for constant in constants])
    return tuple(
        ConstantRow(constant.name, number, constant.unit, unstopped(constant.source) or NONE, constant.mark)
        for constant, number in zip(constants, numbers, strict=True)
    )


def _labelled(settings: Settings, key: str, name: str) -> list[tuple[str, Quantity]]:
    if key == "heat_capacity":
        return [
            (f"{name} [{'/'.join(filter(None, (entry.calorimeter, entry.bomb)))}]", entry.quantity)
            for entry in settings.heat_capacities
        ]
    heats = settings.aid_heats if key == "aid_heat" else settings.capsule_heats
    return [(f"{name} [{label}]", quantity) for label, quantity in heats.items()]


def _word(settings: Settings, key: str) -> str:
    """Return what is in force although the item is blank or came from the command line."""
    if key == "method":
        return settings.method or ""
    if key == "further_test_rule":
        return settings.further_test_rule
    return settings.report_unit if key == "report_unit" else ""


def _row(item: str, quantity: Quantity | None, entry: SetupEntry | None, in_force: str = "") -> SettingRow:
    entered = _entered(entry)
    if quantity is not None:
        return SettingRow(
            item,
            quantity.text or entered or NONE,
            plain(quantity.value),
            quantity.unit,
            unstopped(quantity.source) or "no source given",
            quantity.mark,
            quantity.cell or _cell(entry),
        )
    if entry is not None and entered:
        return SettingRow(item, entered, "", "", entry.source, "", _cell(entry))
    if entry is not None and entry.unreadable:
        return SettingRow(item, "could not be read", "", "", entry.source, "", _cell(entry))
    if in_force:
        default = "from the command" if in_force not in {*FurtherTestRule, "J/g"} else "as nothing else is set"
        return SettingRow(item, f"{in_force} ({default})", "", "", "", "", "")
    return SettingRow(item, "", "", "", "", "", "")


def _entered(entry: SetupEntry | None) -> str:
    if entry is None or entry.value is None:
        return ""
    if isinstance(entry.value, float):
        return f"{plain(entry.value)} {entry.unit}".strip()
    return entry.value if isinstance(entry.value, str) else date(entry.value)


def _cell(entry: SetupEntry | None) -> str:
    if entry is None:
        return ""
    cell = entry.place.cell("value")
    return f"{entry.place.sheet}!{cell}" if cell else f"{entry.place.sheet} row {entry.place.row}"
