"""The methods and constants on record, for the terminal: each figure with its mark and source."""

from batchcal import reference
from batchcal.tables import table


def all_methods() -> list[str]:
    """Return one line for each method: key, what it is for, editions."""
    rows = [(method.key, method.title, method.edition) for method in reference.methods()]
    return table(("method", "what it is", "editions"), rows)


def one_method(key: str) -> list[str]:
    """Return all that is on record of one method, and the constants that hold whatever the method."""
    method = reference.method(key)
    lines = [
        f"{method.key}: {method.title}",
        f"editions: {method.edition}",
        *([method.note] if method.note else []),
        "",
    ]
    if method.figures:
        rows = [
            (figure.name, f"{figure.value:g}", figure.unit + (f", {figure.basis}" if figure.basis else ""), figure.mark,
             reference.source(figure.source))
            for figure in method.figures.values()
        ]  # fmt: skip
        lines += table(("figure", "value", "unit", "mark", "source"), rows, right=(1,))
    else:
        lines.append("No figure of this method is on record: enter your own on Setup, each with its Source.")
    lines += [
        "",
        "A figure is used only where Setup confirms it: the word 'method' as Value, and where your own copy gives it "
        "as Source.",
        "",
        "Constants that hold whatever the method:",
    ]
    rows = [
        (constant.name, f"{constant.value:g}", constant.unit, constant.mark, reference.source(constant.source))
        for constant in reference.constants()
    ]
    return lines + table(("constant", "value", "unit", "mark", "source"), rows, right=(1,))


def marks() -> list[str]:
    """Return what each mark says."""
    return [f"{mark}: {meaning}" for mark, meaning in reference.marks().items()]
