"""The example days as a browser prints them: few enough sheets that someone reads them."""

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from programs import program

from batchcal.cli import cli

EXAMPLES = Path(__file__).parents[2] / "example_workbooks"


@pytest.mark.parametrize(("day", "most"), [("clean_day", 5), ("difficult_day", 6)])
def test_a_day_fits_on_a_few_sheets(day: str, most: int, tmp_path: Path) -> None:
    browser = program("chromium", "chromium-browser", "google-chrome")
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{day}.xlsx"), "--out", str(tmp_path)])
    printed = tmp_path / "page.pdf"
    command = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={tmp_path / 'profile'}", "--no-pdf-header-footer", f"--print-to-pdf={printed}",
        (tmp_path / f"{day}.summary.html").as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    document = printed.read_bytes()
    sheets = len(re.findall(rb"/Type\s*/Page\b", document))
    sizes = {
        tuple(round(float(side)) for side in box.split()) for box in re.findall(rb"/MediaBox \[0 0 ([^]]+)\]", document)
    }
    assert sizes == {(595, 842)}, "not A4"
    assert 2 <= sheets <= most
