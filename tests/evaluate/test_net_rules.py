"""Net values by hand: 24 940 J/g as analysed, 4 % analysis and 12 % total moisture, 10 % ash as analysed.

Dry gross 24 940 / 0.96 = 25 979.1667 J/g. The factors are those of the source table: 212.1 per 1 % of hydrogen,
0.775 of oxygen, 0.885 of nitrogen, 24.42 of moisture at constant pressure; 205.96 and 23.05 at constant volume.
"""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, plain_log, run, sample

from batchcal.terms import Basis, Decision

DRY = 24940 / 0.96


def net_log(**contents: Any) -> Log:
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0] |= {"Moisture, total (%)": 12.0, "Basis": "d"}
    names = {"H": "Hydrogen (%)", "N": "Nitrogen (%)", "O": "Oxygen (%)", "C": "Carbon (%)", "S": "Sulphur (%)",
             "A": "Ash (%)", "basis": "Basis", "includes": "Hydrogen includes moisture"}  # fmt: skip
    log.rows["Samples"][0] |= {names[key]: value for key, value in contents.items()}
    return log


def test_constant_pressure_and_volume(tmp_path: Path) -> None:
    net = sample(run(net_log(H=4.5, N=1.0, O=8.0), tmp_path)).net
    free = DRY - 212.1 * 4.5 - 0.775 * 8.0 - 0.885 * 1.0
    for basis, moisture in ((Basis.DRY, 0), (Basis.AS_ANALYSED, 4), (Basis.AS_RECEIVED, 12)):
        expected = free * (1 - moisture / 100) - 24.42 * moisture
        assert net.constant_pressure[basis] == pytest.approx(expected, rel=1e-12)
        volume = (DRY - 205.96 * 4.5) * (1 - moisture / 100) - 23.05 * moisture
        assert net.constant_volume[basis] == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("contents", "hydrogen_dry"),
    [
        ({"H": 4.5, "basis": "d"}, 4.5),
        ({"H": 4.32, "basis": "ad", "includes": "no"}, 4.5),  # 4.32 / 0.96
        ({"H": 4.32 + 0.1119 * 4, "basis": "ad", "includes": "yes"}, 4.5),
        ({"H": 3.96, "basis": "ar", "includes": "no"}, 4.5),  # 3.96 / 0.88
        ({"H": 3.96 + 0.1119 * 12, "basis": "ar", "includes": "yes"}, 4.5),
    ],
)
def test_hydrogen_on_any_basis_with_or_without_the_moisture_s(
    tmp_path: Path, contents: dict[str, Any], hydrogen_dry: float
) -> None:
    net = sample(run(net_log(**contents), tmp_path)).net
    assert net.constant_volume[Basis.DRY] == pytest.approx(DRY - 205.96 * hydrogen_dry, rel=1e-12)


@pytest.mark.parametrize(
    "contents", [{}, {"H": 4.3, "basis": "ad"}, {"H": 0.2, "basis": "ad", "includes": "yes"}, {"H": 4.5, "basis": None}]
)
def test_hydrogen_that_is_not_clear_gives_no_net_value_and_says_so(tmp_path: Path, contents: dict[str, Any]) -> None:
    evaluation = run(net_log(**contents), tmp_path)
    assert set(sample(evaluation).net.constant_pressure.values()) == {None}
    assert "net-not-computed" in codes(evaluation)
    assert sample(evaluation).decision is Decision.READY  # net was not required


def test_oxygen_by_difference_or_said_to_be_unknown(tmp_path: Path) -> None:
    # 100 - 68 - 4.5 - 1 - 0.5 - 12 = 14 % oxygen, dry
    known = sample(run(net_log(H=4.5, N=1.0, C=68.0, S=0.5, A=12.0), tmp_path)).net
    expected = DRY - 212.1 * 4.5 - 0.775 * 14.0 - 0.885
    assert known.constant_pressure[Basis.DRY] == pytest.approx(expected, rel=1e-12)
    assert any("14.00" in note for note in known.notes)
    unknown = sample(run(net_log(H=4.5), tmp_path)).net
    assert unknown.constant_pressure[Basis.DRY] == pytest.approx(DRY - 212.1 * 4.5, rel=1e-12)
    assert any("oxygen is not known" in note for note in unknown.notes)


def test_net_where_it_is_required(tmp_path: Path) -> None:
    log = net_log()
    log.setup["Bases required"] = ("ad, ar, net",)
    evaluation = run(log, tmp_path)
    assert "net-missing" in codes(evaluation)
    assert sample(evaluation).decision is Decision.WAIT
    log.rows["Samples"][0]["Hydrogen (%)"] = 4.5
    assert sample(run(log, tmp_path)).decision is Decision.READY


def test_a_liquid_without_hydrogen_is_estimated_and_marked(tmp_path: Path) -> None:
    log = plain_log(4.2, 4.2)  # 41 940 J/g
    log.setup["Method"] = ("astm-d240",)
    net = sample(run(log, tmp_path)).net
    assert net.constant_pressure[Basis.AS_ANALYSED] == pytest.approx(1000 * (10.025 + 0.7195 * 41.94), rel=1e-12)
    assert "from memory, unchecked" in net.notes[0]
