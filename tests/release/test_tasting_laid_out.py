"""How a tasting is laid out: which notes are told, in what order it is poured, and how much."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from panel.errors import PourRefused, ReleaseError
from panel.kinds import Manner, ReleaseStatus
from panel.release import tasting, tasting_found
from panel.release.sheet import Claim, level, rows_nosed_last
from panel.release.tasting import (
    Tasting,
    _paper_notes,
    _place,
    _told,
    check_chosen,
    check_scored,
    tasting_of,
    water_steps,
)
from panel.release.tasting_found import MiddleHalf, NosedAt, OwnWord, _halves
from panel.store.engine import Store
from tests.release.bare import TODAY, add_release, build_bare


def claim(note: str, points: float, stage: str = "nose") -> Claim:
    return Claim(stage, note, points, 1.0, level(points), ("EV1",))


@pytest.mark.parametrize(
    ("points", "word"),
    [
        (0.0, "hardly there"),
        (11.9, "hardly there"),
        (12.0, "a little"),
        (27.9, "a little"),
        (28.0, "clear"),
        (49.9, "clear"),
        (50.0, "strong"),
        (100.0, "strong"),
    ],
)
def test_a_word_for_points(points: float, word: str) -> None:
    assert level(points) == word


def test_a_card_tells_the_six_clearest_notes_in_the_order_of_the_sheet() -> None:
    points = (13.0, 90.0, 11.9, 12.0, 40.0, 30.0, 20.0, 50.0)
    told = _told([claim(f"n{at}", each) for at, each in enumerate(points)])
    assert [each.note for each in told] == ["n0", "n1", "n4", "n5", "n6", "n7"]
    assert [each.note for each in _told([claim("a", 12.0), claim("b", 11.99)])] == ["a"]


def pour(name: str, peat: int, abv: float, *claims: Claim) -> Any:
    told = SimpleNamespace(abv_percent=abv, claims=claims)
    return SimpleNamespace(name=name, peat=peat, sheet=told)


def test_smoke_is_poured_last_then_strength_then_the_name() -> None:
    pours = [pour("d", 1, 40.0), pour("c", 0, 60.0), pour("b", 0, 46.0), pour("a", 0, 60.0)]
    assert [each.name for each in sorted(pours, key=_place)] == ["b", "a", "c", "d"]


def test_guests_score_the_notes_of_most_pours_and_of_those_the_clearest() -> None:
    pours = (
        pour("a", 0, 46.0, claim("wax", 99.0), claim("smoke", 20.0), claim("plum", 15.0)),
        pour("b", 0, 46.0, claim("plum", 60.0), claim("smoke", 30.0), claim("tar", 50.0)),
        pour("c", 0, 46.0, claim("apple", 99.0)),
    )
    assert _paper_notes(pours) == ("plum", "smoke", "apple")
    assert _paper_notes(pours[:1]) == ("wax", "smoke", "plum")
    with pytest.raises(ReleaseError):
        check_scored(Tasting((), 10.0, (), {}))
    check_scored(Tasting((), 10.0, ("wax",), {}))


def test_water_brings_a_pour_down_to_each_strength_below_its_own() -> None:
    """Litres of pure alcohol stay: 10 mL at 46 % are 4.6 mL, so about 13.1 mL at 35 %.

    Mixing contracts by less than a hundredth, so that the water is a little more than the rest.
    """
    nosed = (NosedAt("EV1", 20.0, Manner.NOSE), NosedAt("EV2", 46.0, Manner.NOSE))
    steps = water_steps(10.0, 46.0, nosed)
    assert [each.to_abv_percent for each in steps] == [35.0, 30.0, 20.0]
    for step in steps:
        assert step.ml == pytest.approx(460.0 / step.to_abv_percent - 10.0, abs=0.15)
    assert [each.to_abv_percent for each in water_steps(10.0, 35.0, ())] == [30.0]


def bottled(**more: Any) -> dict[str, Any]:
    """What a release has that stands in bottles."""
    told = {"status": ReleaseStatus.BOTTLED, "disgorged_on": TODAY, "disgorged_by": "BL"}
    told |= {"signed_by": "LD", "bottled_on": TODAY, "bottles": 200, "abv": 46.0}
    found = '{"bottling_abv_percent": 46.0, "bottles": 200, "age_statement_years": 12}'
    return {**told, "found_json": found, **more}


@pytest.fixture
def four(store: Store) -> Store:
    build_bare(store)
    with store.write() as db:
        for at, name in enumerate(("Spring", "Summer", "Autumn"), 1):
            add_release(db, name, ("X1", 30.0), **bottled(lot_code=f"L26073-{at}"))
        add_release(db, "Winter", ("X1", 30.0))
    return store


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Spring", "Summer"), "has 3 to 6 pours, and 2 are named"),
        (("Spring",), "and 1 is named"),
        (("Spring", "Summer", "Autumn") * 2 + ("Winter",), "and 7 are named"),
        (("Spring", "Spring", "Summer"), "Spring is named more than once"),
        (("Spring", "Summer", "Winter"), "Winter is proposed, not bottled"),
        (("Spring", "Summer", "Fall"), "Fall"),
    ],
)
def test_everything_against_a_choice_is_told(
    four: Store, names: tuple[str, ...], said: str
) -> None:
    with four.read() as db, pytest.raises(ReleaseError, match=said):
        check_chosen(db, names)


def test_pours_are_of_a_volume_and_of_no_more_ethanol_than_one_sitting_holds(four: Store) -> None:
    """Three of 10 mL at 46 % hold 3 x 4.6 mL of ethanol, 0.789 g each mL: 10.9 g."""
    names = ("L26073-1", "Summer", "Autumn")
    with four.read() as db:
        found = tasting_of(db, names, as_of=TODAY)
        assert found.grams == pytest.approx(3 * 4.6 * 0.78924, rel=1e-3)
        assert [each.name for each in found.pours] == ["Autumn", "Spring", "Summer"]
        assert (found.notes, found.ml) == ((), 10.0)
        most = tasting.MOST_GRAMS / found.grams * 10.0
        assert tasting_of(db, names, as_of=TODAY, ml=most * 0.999).grams < tasting.MOST_GRAMS
        for ml in (most * 1.001, 0.0, -1.0, float("inf"), float("nan")):
            with pytest.raises(PourRefused):
                tasting_of(db, names, as_of=TODAY, ml=ml)


@dataclass
class Known:
    """As much of a profile as is asked."""

    estimates: pd.DataFrame


def test_what_was_nosed_last_stands_for_the_blend() -> None:
    rows = pd.DataFrame(
        {
            "sample": ["B1", "B2", "B2", "B3", "Other", "B4"],
            "estimate": [10.0, 20.0, 21.0, 30.0, 40.0, float("nan")],
            "last_nosed": pd.to_datetime(
                ["2026-01-01", "2026-03-01", "2026-03-01", "2026-02-01", "2026-04-01", "2026-05-01"]
            ),
        }
    )
    found = rows_nosed_last(cast(Any, Known(rows)), ["B1", "B2", "B3", "B4"])
    assert found["estimate"].tolist() == [20.0, 21.0]
    assert rows_nosed_last(cast(Any, Known(rows)), ["B4"]).empty


def frame(**scores: list[float]) -> pd.DataFrame:
    """Scores of AA, BB, ... of the blend on smoke, on a line from 0 to 10."""
    rows = [
        {"assessor": who, "score": score, "status": "kept", "kind": "test", "sample": "B1"}
        for who, given in scores.items()
        for score in given
    ]
    return pd.DataFrame(rows).assign(descriptor="smoke", scale_low=0.0, scale_high=10.0)


@pytest.mark.parametrize(
    ("others", "half"),
    [
        ({}, MiddleHalf(17.5, 32.5, 4)),
        ({"sample": "B2"}, None),
        ({"status": "void"}, None),
        ({"kind": "warm_up"}, None),
        ({"score": float("nan")}, None),
    ],
)
def test_the_middle_half_is_of_four_people_s_own_means(
    monkeypatch: pytest.MonkeyPatch, others: dict[str, Any], half: MiddleHalf | None
) -> None:
    """Means of 10, 20, 30 and 40 points: quartiles 17.5 and 32.5 (type 7 of R)."""
    scores = frame(AA=[0.0, 2.0], BB=[2.0], CC=[3.0], DD=[4.0])
    for column, value in others.items():
        scores.loc[scores["assessor"] == "DD", column] = value
    monkeypatch.setattr("panel.frames.scores_frame", lambda _db, **_asked: scores)
    found = _halves(cast(Any, None), "B1", (), date(2026, 3, 14))
    assert found == ({} if half is None else {"smoke": half})


def test_the_five_words_that_most_was_scored_of_are_told_once_each(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    said = {
        "EV1": [(30.0, "Wet slate"), (10.0, "rope"), (50.0, "tar"), (20.0, "wax")],
        "EV2": [(40.0, "wet Slate"), (12.0, "hay"), (11.0, "peel"), (50.0, "soot"), (5.0, "tar")],
        "Lexicon": [(99.0, "none of it")],
    }
    held = [
        SimpleNamespace(name=name, kind=SimpleNamespace(facts=SimpleNamespace(own_lines=own)))
        for name, own in (("EV1", True), ("EV2", True), ("Lexicon", False))
    ]
    monkeypatch.setattr(tasting_found, "_sessions", lambda *_given: held)
    monkeypatch.setattr(
        tasting_found,
        "_words_of",
        lambda _db, name, _labels: [
            (score, OwnWord(word, None, None)) for score, word in said[name]
        ],
    )
    told = [each.word for each in tasting_found._own_words(cast(Any, None), {"B1": 1}, TODAY)]
    assert told == ["soot", "tar", "wet Slate", "wax", "hay"]
