"""The results workbook of a package, and what must hold of it whatever the package is."""

from lab_packages.parts import assert_sane, column_entries, holds_all, parts

MAY_CHANGE = ("[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml")
"""Parts that must say what is added, beside the sheets."""


def assert_carried(before: bytes, after: bytes) -> None:
    """Hold a results workbook against the package that it was made from: all parts there, in their order, unharmed."""
    old, new = parts(before), parts(after)
    assert list(new)[: len(old)] == list(old)
    assert all(name.startswith(("xl/worksheets/sheet", "xl/styles")) for name in list(new)[len(old) :])
    for name, data in old.items():
        if new[name] == data:
            continue
        assert name in MAY_CHANGE or name.startswith(("xl/worksheets/", "xl/chartsheets/")), name
        assert holds_all(data, new[name]), name
        if name.startswith("xl/worksheets/"):
            assert_columns_kept(data, new[name])
    assert_sane(after)


def assert_columns_kept(before: bytes, after: bytes) -> None:
    """Hold the entries of column widths to this: only where columns were added they say something else."""
    old, new = column_entries(before), column_entries(after)
    differing = sorted(column for column in {*old, *new} if old.get(column) != new.get(column))
    if differing:
        assert differing == list(range(differing[0], differing[-1] + 1))
        assert len(differing) < 60
