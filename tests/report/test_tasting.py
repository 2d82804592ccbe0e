"""Pages of a tasting: ethanol, order and water, what is refused, what guests wrote."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from panel.errors import IntakeError, ReleaseError
from panel.release.guests import guests_of
from panel.release.tasting import Tasting, tasting_of, water_steps
from panel.report.asked import tasting_report
from panel.session.dose import ethanol_grams
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.releases import ReleaseBench
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.houses.tasting import BOTTLED, build_tasting
from tests.report.reading import Read
from tests.report.test_commands import fetches_nothing

LIMIT_G = 24


@pytest.fixture
def house(store: Store) -> Store:
    build_tasting(store)
    return store


def laid_out(house: Store, names: Sequence[str] = BOTTLED, *, ml: float = 10.0) -> Tasting:
    with house.read() as db:
        return tasting_of(db, names, as_of=TODAY, ml=ml)


def read(oakpanel: Call, *words: str) -> Read:
    said = oakpanel("report", "tasting", *words, "--to", "-")
    assert said.code == 0, said.err
    return fetches_nothing(Read(said.out))


def refused(house: Store, *names: str, ml: float = 10.0) -> str:
    with pytest.raises(ReleaseError) as error:
        laid_out(house, names, ml=ml)
    return str(error.value)


def keyed(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "guests.csv"
    path.write_text("\n".join(("guest,release,note,score", *rows)), encoding="utf-8")
    return path


# ---------------------------------------------------------------- the figures


def test_three_pours_at_46_hold_10_9_grams() -> None:
    # 30 mL x .46 x .789 g/mL; density of ethanol at 20 °C: OIML R 22 (1975).
    assert 3 * ethanol_grams(10.0, 46.0) == pytest.approx(30 * 0.46 * 0.789, abs=0.01)
    assert round(3 * ethanol_grams(10.0, 46.0), 1) == 10.9


@pytest.mark.slow
def test_water_for_ten_millilitres_at_46(house: Store) -> None:
    [pour] = [one for one in laid_out(house).pours if one.name == "Spring"]
    steps = {step.to_abv_percent: step.ml for step in pour.water}
    # 3, 5 and 13 mL: by the tables of OIML R 22 (1975), to the millilitre of a syringe.
    assert {abv: round(ml) for abv, ml in steps.items()} == {35.0: 3, 30.0: 5, 20.0: 13}
    assert [step.to_abv_percent for step in water_steps(10.0, 33.0, ())] == [30.0]
    assert water_steps(10.0, 30.0, ()) == ()


@pytest.mark.slow
def test_peat_comes_last_and_strength_rises_before_it(house: Store) -> None:
    tasting = laid_out(house, ("Autumn", "Summer", "Spring"))
    assert [pour.name for pour in tasting.pours] == ["Spring", "Summer", "Autumn"]
    assert [pour.sheet.abv_percent for pour in tasting.pours] == [46.0, 50.0, 43.0]
    assert tasting.grams == pytest.approx(10.0 * (0.46 + 0.50 + 0.43) * 0.789, abs=0.01)


# ---------------------------------------------------------------- what is refused


def test_what_cannot_be_poured_is_refused_at_once_in_words(house: Store) -> None:
    said = refused(house, "Winter", "Sprin", "Summer", "L-Summer", *("Autumn",) * 3)
    for words in (
        "3 to 6 pours, and 7 are named",
        "no release 'Sprin'. There are: Spring",
        "Summer is named more than once",
        "Autumn is named more than once",
        "Winter is proposed, not bottled",
    ):
        assert words in said
    assert "3 to 6 pours, and 2 are named" in refused(house, "Spring", "Summer")
    assert "3 to 6 pours, and 0 are named" in refused(house)


def test_too_much_ethanol_is_refused_with_its_grams(house: Store) -> None:
    assert laid_out(house, ml=21.8).grams <= LIMIT_G
    said = refused(house, *BOTTLED, ml=22.0)
    assert "24.1 g of ethanol, more than the 24 g" in said
    for ml in (0.0, -1.0, float("nan")):
        assert "above 0 mL" in refused(house, *BOTTLED, ml=ml)


def test_no_sheet_for_guests_where_the_panel_told_no_note(house: Store) -> None:
    with house.write() as db:
        for bench in db.query(ReleaseBench):
            db.delete(bench)
    with house.read() as db, pytest.raises(ReleaseError, match="nothing for guests to score"):
        tasting_report(db, BOTTLED, today=TODAY, paper=True)
    with house.read() as db:
        text = Read(tasting_report(db, BOTTLED, today=TODAY)).text
    assert text.count("Nothing can be told of smell and taste: no blend of it was mixed") == 3


# ---------------------------------------------------------------- the cards


@pytest.mark.slow
def test_a_card_says_what_the_panel_found_and_how_it_nosed(oakpanel: Call) -> None:
    text = read(oakpanel, *BOTTLED).text
    for words in (
        "11.0 g of ethanol in 3 pours of 10 mL",
        "Our panel, nosing at 20 % vol and not knowing the glass, found in its blend honeycomb",
        "A fire that has burnt down",
        "3 mL to 35 %; 5 mL to 30 %; 13 mL to 20 %, as our panel nosed it",
        "Local law may fix pour sizes",
        "to take home",
        "spit",
        "Of allergens nothing from memory",
        "at least 14 years in wood",
    ):
        assert words in text
    assert "C1" not in text.split()
    assert text.index("1. Spring") < text.index("2. Summer") < text.index("3. Autumn")


def test_what_a_guest_may_say_comes_from_one_person_and_names_nobody(oakpanel: Call) -> None:
    text = read(oakpanel, *BOTTLED).text
    assert "If a guest says “old jetty”" in text
    assert "We call that ember: A fire that has burnt down." in text
    assert "If a guest says “<b>church pew</b>”" in text
    assert "Nobody of our panel put it in words of their own" in text
    assert not {"AA", "BB", "CC", "DD"} & set(text.split())


@pytest.mark.slow
def test_guests_leave_no_trace_in_the_records(oakpanel: Call, house: Store, tmp_path: Path) -> None:
    def held() -> tuple[int, int]:
        with house.read() as db:
            return db.query(LogEntry).count(), db.query(Person).count()

    read(oakpanel, *BOTTLED)  # the first answer on a house notes in the log what was reckoned
    before = held()
    scores = keyed(tmp_path, "1,Spring,ember,10")
    for more in (("--paper",), ("--guests", str(scores))):
        read(oakpanel, *BOTTLED, *more)
    assert held() == before
    assert oakpanel("report", "tasting", *BOTTLED, "--paper", "--guests", "x.csv").code == 2


# ---------------------------------------------------------------- guests


@pytest.mark.slow
def test_the_sheet_asks_three_notes_of_each_pour_and_no_name(oakpanel: Call) -> None:
    found = read(oakpanel, *BOTTLED, "--paper")
    assert found.text.count("_______") == 1 + 3 * len(BOTTLED)
    assert "Write no name" in found.text
    assert "into the house's records" in found.text


@pytest.mark.slow
def test_guests_stand_beside_the_middle_half_what_agrees_first(
    oakpanel: Call, house: Store, tmp_path: Path
) -> None:
    [autumn] = [pour for pour in laid_out(house).pours if pour.name == "Autumn"]
    half = (autumn.found.halves or {})["ember"]
    inside = (half.low + half.high) / 2
    path = keyed(
        tmp_path,
        *("1,Spring,ember,99", "2,Spring,ember,98", "1,Autumn,ember,1"),
        f"2,autumn,Ember,{inside:.3f}",
    )
    guests = guests_of(path, laid_out(house))
    assert [(line.release, line.within) for line in guests.lines] == [("Autumn", 1), ("Spring", 0)]
    assert guests.lines[1].points == (99.0, 98.0)
    text = read(oakpanel, *BOTTLED, "--guests", str(path)).text
    assert "1 of 4 scores lie in the middle half" in text
    assert "nosing at 20 % vol, session blends" in text
    assert "there is no rank" in text
    assert "Nothing about guests is kept" in text


@pytest.mark.slow
def test_the_middle_half_is_that_of_the_assessors_own_means(house: Store) -> None:
    from panel.frames import scores_frame

    with house.read() as db:
        frame = scores_frame(db, sessions=["blends"])
    spring = laid_out(house).pours[0].found.halves or {}
    own = frame[(frame["sample"] == "Spring-B1") & (frame["descriptor"] == "ember")]
    lowest, second, third, highest = sorted(own["score"])
    # A quarter of the way from the second to the first of four, by straight interpolation.
    assert spring["ember"].low == pytest.approx(lowest + 0.75 * (second - lowest))
    assert spring["ember"].high == pytest.approx(highest - 0.75 * (highest - third))
    assert spring["ember"].assessors == 4


@pytest.mark.slow
def test_every_fault_of_the_guests_file_is_told_at_once(house: Store, tmp_path: Path) -> None:
    path = keyed(
        tmp_path,
        *("0,Spring,ember,10", "1,Sprung,ember,10", "1,Spring,embers,10", "1,Spring,ember,101"),
        *("2,Spring,ember,ten", "3,Spring,ember,5", "3,Spring,ember,6", ",Spring,ember,"),
    )
    with pytest.raises(IntakeError) as error:
        guests_of(path, laid_out(house))
    told = [(problem.row, problem.column) for problem in error.value.problems]
    assert told == [
        *((2, "guest"), (3, "release"), (4, "note"), (5, "score"), (6, "score"), (8, "")),
        *((9, "guest"), (9, "score")),
    ]
    assert "Nearest: Spring" in error.value.problems[1].message
    for text, words in (("", "empty"), ("guest,note\n1,ember", "is missing")):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(IntakeError) as error:
            guests_of(path, laid_out(house))
        assert any(words in problem.message for problem in error.value.problems)
