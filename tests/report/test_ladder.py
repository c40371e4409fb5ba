"""What to do now: the cheapest first, and nothing poured away too early."""

from typing import Any

import pytest
from day import make_batch, make_evaluation, with_settings
from msgspec.structs import replace

from batchcal.evaluate import evaluate
from batchcal.logged import FiringRow, SetupEntry, TitrationRow
from batchcal.model import Evaluation
from batchcal.report import ladder
from batchcal.terms import YesNo


def lines(evaluation: Evaluation) -> dict[str, list[str]]:
    return {
        rung.key: [" | ".join((*line.why, line.what, *line.where)) for line in rung.lines]
        for rung in ladder.rungs(evaluation, evaluation)
    }


def with_firings(titrated: bool = True, **changes: dict[str, Any]) -> Evaluation:
    """The day with some firings changed, keyed f2417 and so on; ``titrated`` False drops their titrations."""
    batch = make_batch()

    def change(row: FiringRow) -> FiringRow:
        return replace(row, **changes.get(f"f{row.firing}", {}))

    def kept(row: TitrationRow) -> bool:
        return titrated or f"f{row.firing}" not in changes

    return evaluate(
        replace(
            batch,
            firings=tuple(map(change, batch.firings)),
            titrations=tuple(filter(kept, batch.titrations)),
        )
    )


def with_people(analyst: str, reviewer: str) -> Evaluation:
    def change(entry: SetupEntry) -> SetupEntry:
        names = {"analyst": analyst, "reviewer": reviewer}
        return replace(entry, value=names[entry.key] or None) if entry.key in names else entry

    return with_settings(change, make_batch())


def test_rungs_climb_from_reading_to_signing() -> None:
    assert list(lines(make_evaluation())) == ["read", "titrate", "ask", "fire", "sign"]


def test_each_line_says_what_and_where() -> None:
    found = lines(make_evaluation())
    assert "Runs!K15" in found["read"][0]
    assert "26-0713 (2417 and 2418)" in found["read"][1]
    assert "Runs rows 8 and 9" in found["read"][1]
    assert "26-0713 (2417 and 2418)" in found["titrate"][0]
    assert "Samples E5" in found["ask"][0]
    assert "26-0713" in found["fire"][0]
    # 170.6 J/g apart: more than the 156 that four may range over.
    assert "further apart than the rule allows" in found["fire"][0]
    assert "26-0718" in found["fire"][1]
    assert found["sign"] == ["Reviewer O. Adeyemi checks and signs 4 samples: 26-0711, 26-0712, 26-0715 and 26-0717."]


def test_a_check_that_is_out_comes_before_any_sample() -> None:
    found = lines(make_evaluation(check_off=-95.0))
    assert any("check firing 2412" in line.casefold() for line in found["read"])
    assert "Fire a second check before any sample" in found["fire"][0]
    assert not any("26-0713" in line for line in found["fire"]), "no sample is fired on a bomb whose check is out"


def test_nothing_is_fired_in_an_apparatus_that_a_caution_takes_out_of_use() -> None:
    first = lines(make_evaluation(check_off=-95.0, pressure=3.6))["fire"][0]
    assert "Fire nothing in calorimeter A with bomb 2" in first
    assert "filled to 3.6 MPa" in first
    assert "Fire nothing" not in lines(make_evaluation())["fire"][0]


def test_washings_that_are_gone_are_never_titrated_again() -> None:
    found = lines(with_firings(f2417={"washings_kept": YesNo.NO}))
    assert "26-0713 (2418)" in found["titrate"][0]
    both = lines(with_firings(f2417={"washings_kept": YesNo.NO}, f2418={"washings_kept": YesNo.NO}))
    assert "titrate" not in both


def test_a_missing_titre_is_titrated_or_fired_again() -> None:
    kept = lines(with_firings(titrated=False, f2413={"washings_kept": YesNo.YES}))
    assert any("Firing 2413" in line for line in kept["titrate"])
    gone = lines(with_firings(titrated=False, f2413={"washings_kept": YesNo.NO}))
    assert not any("2413" in line for line in gone["titrate"])
    assert any("Firing 2413 cannot be titrated any more" in line for line in gone["fire"])


def test_washings_are_kept_until_the_sample_is_judged() -> None:
    keep = ladder.washings_to_keep(make_evaluation())
    for firing in ("2417", "2418", "2419", "2420", "2423", "2424", "2428"):
        assert firing in keep
    for ready in ("2413", "2416", "2421", "2427"):
        assert ready not in keep
    assert "2429" not in keep, "a misfire has no washings"
    assert "2428 were kept is not logged" in keep
    assert "2417" not in ladder.washings_to_keep(with_firings(f2417={"washings_kept": YesNo.NO}))


def test_no_washings_are_asked_for_where_no_titre_is_used() -> None:
    def change(entry: SetupEntry) -> SetupEntry:
        return replace(entry, value="none") if entry.key == "acid_scheme" else entry

    evaluation = with_settings(change, make_batch())
    assert ladder.washings_to_keep(evaluation) == ""
    assert "titrate" not in lines(evaluation)


@pytest.mark.parametrize(
    ("analyst", "reviewer", "words"),
    [
        ("A. One", "B. Two", "Reviewer B. Two checks and signs"),
        ("A. One", "", "to be named as Reviewer on Setup"),
        ("A. One", "a. one", "Setup names a. one as analyst and as reviewer"),
    ],
)
def test_the_one_who_signs_is_a_second_person(analyst: str, reviewer: str, words: str) -> None:
    assert words in lines(with_people(analyst, reviewer))["sign"][0]


def test_the_same_slip_in_many_rows_is_one_line() -> None:
    found = lines(make_evaluation(repeats=6))
    assert len(found["read"]) == 2
    assert "and 3 more, listed under Findings" in found["read"][0]
    assert len(found["ask"]) == 1
