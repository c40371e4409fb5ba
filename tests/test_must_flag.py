"""At least 97 % of the cells that no one may take for good are named by their address, with nothing false beside."""

from pathlib import Path

from must_flag import cases, outcome, usual_findings


def test_cells_that_must_be_flagged_are_named(tmp_path: Path) -> None:
    usual = usual_findings(tmp_path)
    found = {case.name: outcome(case, tmp_path, usual) for case in cases()}
    assert len(found) > 200
    missed = {name: result for name, result in found.items() if not result.named or result.beside}
    assert len(missed) <= 0.03 * len(found), missed
