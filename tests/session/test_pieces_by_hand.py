"""Pieces of a session on a few glasses: what is joined, ordered, told and refused."""

from __future__ import annotations

import random
from collections import Counter
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from panel.session import codes, passing, passing_sizes
from panel.session.balance import Balance
from panel.session.codes import CodesError, clash, draw_codes_together
from panel.session.design_figures import _figures, of_blocks, of_one_flight, of_one_set
from panel.session.elsewhere.bottles import Bottle
from panel.session.elsewhere.sheet import _row
from panel.session.elsewhere.weighing import Weighed
from panel.session.incomplete import _climbed, _greedy
from panel.session.keyed_against import (
    kept_otherwise,
    marked_otherwise,
    not_kept_yet,
    twice_otherwise,
)
from panel.session.late_tray import fresh_order, tray_to_repeat
from panel.session.passing import _setting_faults, _warnings
from panel.session.passing_asked import PassingAsked
from panel.session.passing_sizes import FEW_CASKS
from panel.session.pours import PourNeed
from panel.session.seats import _notes
from panel.session.sheets import _by_draw, _reduced
from panel.session.showing import late_line, progress_lines


def need(draw: str, glasses: int, ml: float | None, *, strength: bool = True) -> PourNeed:
    told: dict[str, Any] = {
        **{"draw": draw, "casks": ("C1",), "kind": "test", "glasses_a_tray": 1, "glasses": glasses},
        **{"abv_percent": 58.25, "strength": "gauged", "draw_ml": None, "phenol_ppm": None},
        **{"spirit_ml": ml, "water_ml": ml and 2 * ml, "reduced_ml": ml and 3 * ml},
        "spirit_ml_a_glass": 6.0 if strength else None,
        "water_ml_a_glass": 9.0 if strength else None,
    }
    return PourNeed(**told)


def test_a_draw_poured_as_two_kinds_is_reduced_once() -> None:
    poured = [need("A", 8, 40.0), need("B", 8, None), need("A", 4, 20.4), need("B", 2, None)]
    first, second, third = _by_draw([*poured, need("D", 3, 10.0)])
    assert (first.draw, first.glasses) == ("A", 12)
    assert (first.spirit_ml, first.water_ml, first.reduced_ml) == pytest.approx(
        (60.4, 120.8, 181.2)
    )
    assert (second.draw, second.glasses) == ("B", 10)
    assert (second.spirit_ml, second.water_ml, second.reduced_ml) == (0.0, 0.0, 0.0)
    assert third.glasses == 3
    assert _reduced(first) == ["A", "C1", "58.2", "60", "121", "181", "6.0 + 9.0"]
    assert _reduced(need("B", 8, None, strength=False))[2:] == [*"????", "no strength"]


@pytest.mark.parametrize(
    ("samples", "each", "people"), [(5, 4, 6), (4, 3, 4), (7, 3, 9), (6, 5, 5)]
)
def test_no_tray_holds_a_sample_twice(samples: int, each: int, people: int) -> None:
    for seed in range(5):
        rng = random.Random(seed)
        rows = _greedy(samples, each, people, rng)
        climbed, _, _ = _climbed(samples, rows, rng, 200)
        for made in (rows, climbed):
            assert [len(set(row)) for row in made] == [each] * people
            served = Counter(sample for row in made for sample in row)
            assert max(served.values()) - min(served.values()) <= 1
            assert set(served) == set(range(samples))


def test_a_late_tray_stands_otherwise_than_those_laid() -> None:
    """Places and neighbours that were least on the trays laid; what rises goes on rising."""
    laid = ["abc", "acb", "bca"]
    found = fresh_order("abc", laid, lambda flight: [0] * len(flight), random.Random(3))
    cost = {
        row: sum(laid_row[at] == glass for laid_row in laid for at, glass in enumerate(row))
        + sum(row[at : at + 2] in laid_row for laid_row in laid for at in (0, 1))
        for row in ("abc", "acb", "bac", "bca", "cab", "cba")
    }
    assert cost["".join(found)] == min(cost.values())
    assert min(cost, key=lambda row: cost[row]) == "cba" or cost["".join(found)] < cost["abc"]
    rising = fresh_order("abc", laid, lambda flight: [2, 0, 1], random.Random(3))
    assert rising == ["b", "c", "a"]
    trays: list[Any] = [{0: "abc"}, {0: "abd"}, {0: "ab", 1: "c"}, {0: "e"}]
    assert tray_to_repeat(trays, random.Random(1)) == {0: "e"}
    assert tray_to_repeat(trays[:3], random.Random(1)) == {0: "abd"}


def test_codes_begin_anew_where_a_shuffle_leaves_none(monkeypatch: pytest.MonkeyPatch) -> None:
    few = ["123", "124", "861", "572"]
    monkeypatch.setattr(codes, "plain_codes", lambda: few)
    monkeypatch.setattr(codes, "clash", lambda one, other: one[:2] == other[:2])
    for seed in range(8):
        found = draw_codes_together(4, [(0, 1), (1, 2)], random.Random(seed))
        assert sorted(found) == sorted(few)
        assert not any(found[a][:2] == found[b][:2] for a, b in ((0, 1), (1, 2)))
    with pytest.raises(CodesError, match="4 codes were asked for"):
        draw_codes_together(4, [(0, 1, 2, 3)], random.Random(1))
    with pytest.raises(CodesError, match="among 3 codes"):
        draw_codes_together(4, [], random.Random(1), avoid=["572"])
    assert clash("123", "123")


BALANCE: Any = SimpleNamespace(
    servings=6,
    neighbour_counts=((9, 2, 0), (0, 9, 2), (2, 2, 9)),
    position_counts=((2, 2, 2), (0, 0, 0), (1, 3, 2)),
    unevenness=4,
    least_unevenness=2,
)


def test_the_figures_of_a_design_count_neighbours() -> None:
    """Two pairs never stood together, none did once, four did twice."""
    found = of_one_flight(BALANCE)
    assert found.neighbour_counts == (2, 0, 4)
    assert found.position_counts == ((1, 3, 2), (2, 2, 2))
    assert (found.block, found.efficiency, found.efficiency_bound) == ("flight", 1.0, 1.0)
    assert (found.nosed, found.meets) == ((6, 6), (6, 6))
    assert (found.unevenness, found.least_unevenness) == (4, 2)
    assert of_one_set(BALANCE).block == "set"
    alone: Balance = SimpleNamespace(**{**vars(BALANCE), "neighbour_counts": ((5,),)})  # type: ignore[assignment]
    assert _figures("flight", (1.0, 1.0), (1, 1), (1, 1), alone).neighbour_counts == (0,)
    design: Any = SimpleNamespace(
        **{"block": "tray", "efficiency": 0.8, "efficiency_bound": 0.9, "glasses": 3},
        **{"replications": (4, 6, 5), "concurrences": ((9, 1, 3), (1, 9, 2), (3, 2, 9))},
        balance=BALANCE,
    )
    blocks = of_blocks(design)
    assert (blocks.block, blocks.efficiency, blocks.efficiency_bound) == ("tray", 0.8, 0.9)
    assert (blocks.nosed, blocks.meets) == ((4, 6), (1, 3))


def test_progress_is_told_by_codes() -> None:
    def seat(who: str, **more: Any) -> Any:
        told = {"finished": False, "knew_key": False, "n_words": None, "n_done": 3, "n_to_score": 8}
        return SimpleNamespace(assessor=who, **{**told, **more})

    call, plain = (
        SimpleNamespace(id=at, assessor="AA", code=code, reason="spilt")
        for at, code in ((1, "518"), (2, None))
    )
    fault = SimpleNamespace(code="518", fault="cork", n_assessors=2)
    seats = [seat("AA"), seat("BB", n_words=1, knew_key=True), seat("CC", n_words=3, finished=True)]
    progress: Any = SimpleNamespace(seats=seats, calls=[call, plain], faults=[fault])
    assert list(progress_lines(progress)) == [
        "AA  3 of 8 glasses",
        "BB  3 of 8 glasses  1 own word, knew the key",
        "CC  3 of 8 glasses  3 own words, finished",
        "Call 1: AA, glass 518: spilt.",
        "Call 2: AA: spilt.",
        "Fault marked on 518: cork (2).",
    ]
    late: Any = SimpleNamespace(
        **{"by": "LD", "code": "518", "assessor": "AA", "status": "void", "reason": "Corked."}
    )
    late.marked_at = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)
    assert late_line(late) == (
        "After the reveal LD marked glass 518 of AA void (2026-03-14): Corked."
    )


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, []),
        ({"most_words": 5}, ["goes with own words"]),
        ({"most_words": 0}, ["goes with own words"]),
        ({"reference": ("R",)}, ["no reference, no warm-up"]),
        ({"warm_up": "W"}, ["no reference, no warm-up"]),
        ({"passing": PassingAsked(parcel="P1", casks=1)}, []),
        ({"passing": PassingAsked(parcel="P1", casks=0)}, ["one is passed at the least"]),
        ({"passing": PassingAsked(casks=3)}, ["is asked of a parcel: name it too"]),
        ({"passing": PassingAsked(casks=3, again_of="M1")}, ["What a second nose gets"]),
        ({"passing": PassingAsked(parcel="P1", casks=3, again_of="M1")}, []),
        (
            {"passing": PassingAsked(casks=0), "most_words": 2, "warm_up": "W"},
            ["own words", "no warm-up", "name it too", "0 casks of the parcel"],
        ),
    ],
)
def test_what_a_morning_of_passing_is_not_asked(told: dict[str, Any], said: list[str]) -> None:
    plan: Any = SimpleNamespace(
        **{"most_words": None, "reference": (), "warm_up": None, "passing": None, **told}
    )
    found = list(_setting_faults(plan))
    assert len(found) == len(said)
    assert all(part in sentence for part, sentence in zip(said, found, strict=True))


@pytest.mark.parametrize(
    ("casks", "again", "few"), [(-1, None, True), (0, None, False), (-1, "M1", False)]
)
def test_few_casks_are_few_where_the_lead_chose_them(
    monkeypatch: pytest.MonkeyPatch, casks: int, again: str | None, few: bool
) -> None:
    for name in ("_one_nose", "_left_said"):
        monkeypatch.setattr(passing, name, lambda *_: ())
    monkeypatch.setattr(passing, "_planted_rows", lambda _: {1: object()})
    monkeypatch.setattr(passing, "_again_of", lambda _: again)
    monkeypatch.setattr(passing, "_without_spikes", lambda _: ["Reed"] if few else [])
    people = [SimpleNamespace(person=SimpleNamespace(code="AA", pin_hash="x"))]
    n = FEW_CASKS + casks
    glasses = [SimpleNamespace(draw_id=at) for at in (1, *range(2, n + 2), 2)]
    plan: Any = SimpleNamespace(glasses=glasses, session=SimpleNamespace(assessors=people))
    said = list(_warnings(plan))
    assert any(f"{n} casks are few for a morning" in each for each in said) is few
    assert (
        any("no planted fault is kept of the make and peat of Reed" in one for one in said) is few
    )
    assert not any("AA" in each for each in said), "who has a PIN can sign in"
    people[0].person.pin_hash = None
    assert any("AA" in each for each in _warnings(plan))


def test_seats_that_came_late_are_told_what_they_lack() -> None:
    def seat(code: str, *, knew: bool = False, pin: str | None = None) -> Any:
        return SimpleNamespace(person=SimpleNamespace(code=code, pin_hash=pin), knew_key=knew)

    seats = [seat("AA"), seat("BB", knew=True, pin="x"), seat("CC", knew=True), seat("DD", pin="x")]
    session: Any = SimpleNamespace(assessors=seats)
    db: Any = None
    said = list(_notes(db, session, ["BB", "CC", "DD"], poured=False))
    assert [sentence[:2] for sentence in said] == ["BB", "CC", "CC"]
    assert "printed a sheet that tells the key" in said[0]
    assert "no PIN yet" in said[2]
    assert "print them again" in next(iter(_notes(db, session, [], poured=True)))
    assert list(_notes(db, session, [], poured=False)) == []


def test_a_bottle_that_goes_elsewhere_is_told_with_its_alcohol() -> None:
    bottle = Bottle("518", "AA", 8, 250.0, 20.0)
    assert bottle.lpa == pytest.approx(0.05)  # a quarter litre at a fifth
    assert _row(bottle, apart=True) == ["518", "AA", "8", "250.0", "0.0500"]
    assert _row(bottle, apart=False) == ["518", "8", "250.0", "0.0500"]


def test_words_that_came_back_are_those_of_a_seat(monkeypatch: pytest.MonkeyPatch) -> None:
    from panel.session.elsewhere import weighing

    word, other = (SimpleNamespace(place=at, word=text) for at, text in ((1, "tar"), (2, "jam")))
    body = SimpleNamespace(
        seats=[SimpleNamespace(seat=1, words=[word, other]), SimpleNamespace(seat=2, words=[])]
    )
    weighed: Any = SimpleNamespace(body=body, chairs={1: None, 2: None}, db=None, session=None)
    weighed._words = lambda seat: Weighed._words(weighed, seat)
    assert (weighed._words(1), weighed._words(2)) == ([word, other], [])
    monkeypatch.setattr(weighing, "seat_of", lambda _: None)
    faults = {}
    for most in (None, 2, 1):
        limits = SimpleNamespace(most=most)
        monkeypatch.setattr(weighing, "own_words_of", lambda *_, limits=limits: limits)
        faults[most] = list(Weighed._word_faults(weighed, 1))
    assert faults == {None: [], 2: [], 1: ["Seat 1 names 2 own words; 1 at most here."]}
    monkeypatch.setattr(weighing, "own_words_of", lambda *_: None)
    assert list(Weighed._word_faults(weighed, 1)) == [
        "Seat 1 names own words, and the session has none."
    ]
    assert list(Weighed._word_faults(weighed, 2)) == []
    monkeypatch.setattr(weighing, "own_words_of", lambda *_: SimpleNamespace(most=None))
    other.place, other.word = 1, "Tar"
    said = list(Weighed._word_faults(weighed, 1))
    assert "Seat 1 has two own words at one place." in said
    assert "Seat 1 names a word twice." in said


@pytest.mark.parametrize(
    ("casks", "said"),
    # With every tenth once more: of 30 casks 33 glasses, of 37 41, of 60 66.
    [
        (30, None),
        (36, None),
        (37, "41 glasses take 5 blocks of 10; the house serves 4 a day"),
        (60, "66 glasses take 7 blocks of 10"),
        (61, "61 casks on one tray; a nose passes 60 a morning"),
    ],
)
def test_a_tray_of_passing_fits_the_blocks_of_a_day(
    monkeypatch: pytest.MonkeyPatch, casks: int, said: str | None
) -> None:
    monkeypatch.setattr(passing_sizes, "_way_out", lambda _plan, most, **_: f"most {most}")
    amounts: Any = SimpleNamespace(block=10, most_blocks=4, repeat_share=0.1)
    plan: Any = SimpleNamespace(glasses_each=0, trays={"AA": [0] * casks, "BB": [0]})
    found = list(passing_sizes._too_many(plan, amounts, more_wait=True))
    assert len(found) == (said is not None)
    assert all((said or "") in each and each.endswith("most 36") for each in found)
    plan.glasses_each = 5
    assert list(passing_sizes._too_many(plan, amounts, more_wait=True)) == []


def keyed(code: str, what: str, value: str) -> Any:
    return SimpleNamespace(code=code, what=what, value=value)


def test_what_a_booth_kept_otherwise_is_told_before_paper_is_kept() -> None:
    """Not of a glass that was put down, nor of one that the tray does not have."""
    lines = [SimpleNamespace(name="smoke", version_id=1), SimpleNamespace(name="wax", version_id=2)]
    tray: Any = SimpleNamespace(lines=lines)
    kept = {1: SimpleNamespace(value=40.0), 2: SimpleNamespace(value=7.0)}

    def glass(**more: Any) -> Any:
        return SimpleNamespace(**{"scores": kept, "finished_at": None, "faults": set(), **more})

    glasses = {"518": glass(), "604": glass(finished_at="9:00"), "733": glass(scores={})}
    mine = {
        code: [keyed(code, "smoke", "40"), keyed(code, "wax", "8"), keyed(code, "wax", "blank")]
        for code in ("518", "604", "733", "999")
    }
    assert list(kept_otherwise(tray, "AA", mine, glasses)) == [
        "518 of AA was kept otherwise: wax 8, at the booth 7. Mend the files."
    ]
    mine["518"] = [keyed("518", "smoke", "40"), keyed("518", "tar", "9")]
    assert list(kept_otherwise(tray, "AA", mine, glasses)) == []
    assert not_kept_yet(glasses["733"], {1: 4.0, 2: None}) == {1: 4.0, 2: None}
    assert not_kept_yet(glasses["518"], {1: 4.0, 3: None}) == {3: None}
    marked = glass(code="518", faults={"cork", "rubber"})
    assert "at the booth held for rubber" in next(marked_otherwise("AA", marked, ["cork"]))
    assert list(marked_otherwise("AA", marked, ["cork", "rubber"])) == []
    marked.finished_at = "9:00"
    assert list(marked_otherwise("AA", marked, [])) == []


def test_a_line_keyed_twice_has_one_value() -> None:
    mine = {"518": [keyed("518", "smoke", "4"), keyed("518", "smoke", "4")]}
    assert list(twice_otherwise("AA", mine, several=())) == []
    mine["518"].append(keyed("518", "smoke", "5"))
    assert list(twice_otherwise("AA", mine, several=())) == [
        "518 of AA: smoke has two values, 4 and 5."
    ]
    assert list(twice_otherwise("AA", mine, several=("smoke",))) == []
