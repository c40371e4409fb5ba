"""What the blank workbook holds already where method and apparatus were named, and where each entry comes from.

Nothing of a method enters as a number: its figures stand as the word ``method`` without a Source, which stops every
result until the laboratory enters the Source that confirms the figure.
"""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal import reference
from batchcal.errors import UsageError
from batchcal.items import SETUP_ITEMS, SETUP_ITEMS_BY_KEY, SetupItem
from batchcal.reference import Figure, Method
from batchcal.terms import FROM_METHOD
from batchcal.workbook import cells
from batchcal.workbook.headings import fold

LONGEST_LIST = 255
"""Characters that the list of a drop-down can hold, quotation marks included."""

_CONFIRM = (
    f"Where Setup says `{FROM_METHOD}`, no result is released until you enter under Source where your own copy of the "
    "method gives the figure. Or enter a number of your own in its place."
)

_NOT_IN_NAMES = ',"[]'


class Entry(Struct, frozen=True):
    """One row of Setup with something filled in: where that comes from, and what is left to do about it."""

    key: str
    origin: str
    task: str = ""
    label: str = ""
    value: str = ""
    unit: str = ""
    """Another unit than the one that is usually proposed, or ""."""
    source: str = ""

    @property
    def item(self) -> SetupItem:
        """The item of the row."""
        return SETUP_ITEMS_BY_KEY[self.key]

    @property
    def said(self) -> str:
        """Origin and task as one text."""
        return f"{self.origin} {self.task}".rstrip()

    @property
    def name(self) -> str:
        """The item as it stands on the row."""
        return f"{self.item.name} [{self.label}]" if self.label else self.item.name


class Prefill(Struct, frozen=True):
    """Entries of Setup, the names that the columns Calorimeter and Bomb offer, and what was left blank and why."""

    entries: tuple[Entry, ...] = ()
    calorimeters: tuple[str, ...] = ()
    bombs: tuple[str, ...] = ()
    left: tuple[str, ...] = ()

    def of(self, item: SetupItem) -> tuple[Entry | None, ...]:
        """Return the entries of an item, each a row of its own; one None where there is none."""
        return tuple(entry for entry in self.entries if entry.key == item.key) or (None,)

    def offered(self, field: str) -> tuple[str, ...]:
        """Return the names that the column of this field offers."""
        return {"calorimeter": self.calorimeters, "bomb": self.bombs}.get(field, ())


NOTHING = Prefill()


def prefill(method_key: str | None, apparatus: Sequence[str] = ()) -> Prefill:
    """Return what to fill in for a method's key and for apparatus, each named as CALORIMETER or CALORIMETER/BOMB.

    Raises UsageError for a name that cannot stand in the workbook, one that is given twice, and more than a list holds.
    """
    labels = [_label(text) for text in apparatus]
    folded = [fold(label) for label in labels]
    for label in labels:
        if folded.count(fold(label)) > 1:
            raise UsageError(f"calorimeter {label} is given twice")
    parts = [label.rpartition("/") if "/" in label else (label, "", "") for label in labels]
    calorimeters = tuple(dict.fromkeys(calorimeter for calorimeter, _, _ in parts))
    bombs = tuple(dict.fromkeys(bomb for _, _, bomb in parts if bomb))
    for names in (calorimeters, bombs):
        if len(",".join(names)) + 2 > LONGEST_LIST:
            raise UsageError(f"these names are too long for one list of a spreadsheet ({LONGEST_LIST} characters)")
    known = None if method_key is None else reference.method(method_key)
    return Prefill(
        (*(() if known is None else _of_method(known)), *map(_heat_capacity, labels)),
        calorimeters,
        bombs,
        () if known is None else tuple(_left(known)),
    )


def _label(text: str) -> str:
    label = "/".join(cells.clean(part) for part in text.rpartition("/")[::2]) if "/" in text else cells.clean(text)
    if not label.strip("/") or label.startswith("/") or label.endswith("/"):
        raise UsageError(f"calorimeter {text!r}: give a name, or two with a stroke between: CALORIMETER/BOMB")
    if any(sign in label for sign in _NOT_IN_NAMES) or not label.isprintable():
        raise UsageError(f"calorimeter {text!r}: a name in a list holds none of {' '.join(_NOT_IN_NAMES)}")
    return label


def _heat_capacity(label: str) -> Entry:
    return Entry(
        "heat_capacity",
        "Named with batchcal new.",
        "Leave its value blank where a series stands on Calibration; otherwise enter it with Source and In force from.",
        label,
    )


def _of_method(method: Method) -> Iterator[Entry]:
    yield Entry(
        "method",
        f"Named with batchcal new ({method.title}).",
        value=method.key,
        source="as named when this workbook was made",
    )
    basis = _basis(method)
    if basis is not None:
        on_record, mark = basis
        yield Entry(
            "comparison_basis",
            f"From the record that batchcal keeps of {method.key} ({mark}).",
            "Compare it with your own copy of the method, and say so under Source.",
            value=on_record,
            source=f"batchcal's record of {method.key} ({mark}), not compared with the method",
        )
    for item in SETUP_ITEMS:
        figure = method.figures.get(item.figure) if item.from_method else None
        if figure is not None:
            unit = figure.unit if item.quantity else ""
            yield Entry(item.key, _figure(method, figure), _CONFIRM, value=FROM_METHOD, unit=unit)


def _figure(method: Method, figure: Figure) -> str:
    on_basis = f" on the basis {figure.basis}" if figure.basis else ""
    return (
        f"The word stands for the figure on record for {method.key}: {figure.value:g} {figure.unit}{on_basis} "
        f"({figure.mark})."
    )


def _basis(method: Method) -> tuple[str, str] | None:
    """Return the one basis of every repeatability limit of a method, and the marks of these."""
    limits = [figure for key, figure in method.figures.items() if key.startswith("repeatability")]
    bases = {figure.basis for figure in limits}
    if len(bases) != 1 or None in bases:
        return None
    return str(limits[0].basis), "; ".join(dict.fromkeys(figure.mark for figure in limits))


def _left(method: Method) -> Iterator[str]:
    without = [item.name for item in SETUP_ITEMS if item.from_method and item.figure not in method.figures]
    if without:
        yield f"{', '.join(without)}: left blank, because no single figure is on record for {method.key}. Enter yours."
    if method.figures:
        yield (
            "Every other figure is left to you: nothing is filled in as a number. What is on record for the method, "
            f"and how well it is known, is shown by   batchcal methods {method.key}"
        )
