"""The documents tell the truth: generated parts are up to date, and README's own example says what happens."""

import re
from pathlib import Path

import pytest
from documents import DOCUMENTS, GENERATED, ROOT, filled


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_generated_parts_are_up_to_date(document: Path) -> None:
    text = document.read_text(encoding="utf-8")
    assert filled(text) == text, "run: python tests/documents.py"


def test_every_generated_part_stands_somewhere() -> None:
    written = "".join(document.read_text(encoding="utf-8") for document in DOCUMENTS)
    assert set(re.findall(r"<!-- generated: (\w+) -->", written)) == set(GENERATED)


def test_readme_opens_with_one_paragraph_that_states_the_job() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    title, paragraph, *_ = readme.split("\n\n")
    assert title == "# batchcal"
    for word in ("oxygen-bomb calorimeter", "spreadsheet", "calorific values", "duplicates", "benzoic acid"):
        assert word in " ".join(paragraph.split()), word
