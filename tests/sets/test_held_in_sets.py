"""Sessions in sets from plan to finding: pairs, fours, rankings."""

from __future__ import annotations

from collections import Counter
from types import SimpleNamespace
from typing import Any, cast

import pytest
from sqlalchemy import select

from panel.errors import PlanRefused, WrongState
from panel.kinds import GlassKind, SessionKind
from panel.questions.kinds import session_answer
from panel.session.drafts import planned_again
from panel.session.late_seat import lay_late_tray
from panel.session.plan import plan_session
from panel.session.set_trays import Spot, _even_words
from panel.session.stages import close_session
from panel.store.answers import Answer, AnswerChange
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.words.kinds import SESSION_LINES, Part
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import (
    LEAD,
    answer_all,
    draws_by_glass,
    likes,
    odd_ones,
    opened,
    picks,
    ranks,
    revealed,
    set_plan,
    sorts,
)
from tests.houses.to_plan import CODES, build_to_plan
from tests.thinned import some_rows

PAIRS, FOURS, RANKED = SessionKind.STRONGER, SessionKind.TWO_AND_TWO, SessionKind.RANKING
ODD, LIKE = SessionKind.ODD_ONE_OUT, SessionKind.LIKE_THE_FIRST


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def lines_of(store: Store, plan: object) -> list[str]:
    with store.write() as db:
        said = plan_session(db, plan, now=FIXED_NOW, by=LEAD).lines()  # type: ignore[arg-type]
        db.rollback()
    return said


# ---------------------------------------------------------------------- planned


def test_a_plan_says_what_it_can_tell_before_a_glass_is_poured(house: Store) -> None:
    said = "\n".join(lines_of(house, set_plan(PAIRS, alike_within=1.0, stronger="D1")))
    assert "Pairs: which of the two has more wet slate?" in said
    assert "12 answers: different from 10 right on" in said
    assert "26 answers find it 80 times in 100 (first 23)" in said
    assert "Alike within a d-prime of 1" in said
    assert "4 glasses each in 2 sets" in said
    assert "no draw is poured twice" not in said
    assert "there is no reference" not in said


def test_a_plan_that_is_none_is_refused_with_every_reason(house: Store) -> None:
    wrong = set_plan(
        PAIRS,
        draws=("D1", "D2", "D3"),
        descriptors=(),
        reference="R0",
        duplicates=("D1",),
        stronger="D7",
        alike_within=9.0,
        replicates=9,
    )
    with pytest.raises(PlanRefused) as refused, house.write() as db:
        plan_session(db, wrong, now=FIXED_NOW, by=LEAD)
    for said in (
        "One descriptor is asked about; the plan names 0",
        "3 draws: in a session of this kind there are 2",
        "neither a reference nor a warm-up",
        "nothing is poured once more",
        "'D7', expected to be the stronger, is none of the draws",
        "it lies above 0 and up to 4",
        "27 glasses each: the house serves 16",
    ):
        assert said in str(refused.value)


def test_what_is_asked_of_sets_is_asked_of_sets_alone(house: Store) -> None:
    plan = set_plan(SessionKind.PROFILE, alike_within=1.0, replicates=1)
    with pytest.raises(PlanRefused, match="asked where glasses stand in sets"):
        lines_of(house, plan)


def test_a_draft_is_planned_again_as_it_was(house: Store) -> None:
    for kind, reference in (*((k, None) for k in (PAIRS, FOURS, RANKED, ODD, LIKE)), (LIKE, "D2")):
        within = None if kind is RANKED else 1.5
        wanted = set_plan(kind, alike_within=within, reference=reference)
        with house.write() as db:
            plan_session(db, wanted, now=FIXED_NOW, by=LEAD)
        with house.read() as db:
            again = planned_again(db, wanted.name)
        assert (again.replicates, again.alike_within, again.kind) == (2, wanted.alike_within, kind)
        assert (again.draws, again.duplicates) == (wanted.draws, ())
        assert again.reference == reference


@pytest.mark.parametrize("kind", [PAIRS, FOURS, RANKED])
def test_orders_are_balanced_and_tell_nothing(house: Store, kind: SessionKind) -> None:
    plan = set_plan(kind)
    opened(house, plan)
    behind = draws_by_glass(house)
    with house.read() as db:
        glasses = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
        sets: dict[tuple[str, int], list[str]] = {}
        codes: dict[str, list[str]] = {}
        for glass in glasses:
            sets.setdefault((glass.person.code, glass.flight), []).append(behind[glass.id])
            codes.setdefault(glass.person.code, []).append(glass.code)
    of_each = kind.facts.of_each
    assert len(sets) == 2 * len(CODES)
    for row in sets.values():
        assert Counter(row) == dict.fromkeys(plan.draws, of_each)
    first = Counter(row[0] for row in sets.values())
    assert set(first.values()) == {len(sets) // len(plan.draws)}
    assert all(len(set(mine)) == len(mine) for mine in codes.values())


@pytest.mark.parametrize(
    ("kind", "sets", "said"),
    [
        (PAIRS, ["01", "10", "01"], "Each product stands first in 1 to 2 of 3 sets"),
        (
            ODD,
            ["001", "110", "011"],
            "Each product is the odd one in 1 to 2 of 3 sets, and the odd one stands in each place "
            "0 to 2 times",
        ),
        (
            LIKE,
            ["001", "010", "001"],
            "One product is the reference in all 3 sets, and its like is the first of the others "
            "in 2",
        ),
        (
            LIKE,
            ["001", "110"],
            "Each is the reference in 1 of 2 sets, and its like is the first of the others in 2",
        ),
    ],
)
def test_how_even_the_orders_are_is_said_by_number(
    kind: SessionKind, sets: list[str], said: str
) -> None:
    """Each set by its products from left to right."""
    plan = cast(Any, SimpleNamespace(session=SimpleNamespace(kind=kind)))
    orders = [tuple(Spot(int(product)) for product in one) for one in sets]
    assert _even_words(plan, orders) == f"{said}; every set is drawn anew."


def laid(store: Store) -> list[tuple[str, list[str], list[str]]]:
    """Return who nosed each set, the draws in it in their order, and the codes."""
    behind = draws_by_glass(store)
    with store.read() as db:
        glasses = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
        sets: dict[tuple[str, int], list[Serving]] = {}
        for glass in glasses:
            sets.setdefault((glass.person.code, glass.flight), []).append(glass)
        return [
            (who, [behind[glass.id] for glass in one], [glass.code for glass in one])
            for (who, _), one in sets.items()
        ]


def test_threes_stand_in_all_six_orders_as_often(house: Store) -> None:
    opened(house, set_plan(ODD))
    sets = laid(house)
    assert Counter(tuple(draws) for _, draws, _ in sets) == {
        tuple(f"D{n}" for n in order): 2
        for order in ((1, 1, 2), (1, 2, 1), (2, 1, 1), (1, 2, 2), (2, 1, 2), (2, 2, 1))
    }
    mine = [code for who, _, codes in sets if who == "A1" for code in codes]
    assert len(set(mine)) == 6


@pytest.mark.parametrize("reference", [None, "D2"])
def test_the_reference_stands_first_in_every_set_and_tells_nothing(
    house: Store, reference: str | None
) -> None:
    opened(house, set_plan(LIKE, reference=reference))
    sets = laid(house)
    orders = Counter(tuple(draws) for _, draws, _ in sets)
    firsts = ("D1", "D2") if reference is None else (reference,)
    assert set(orders) == {(f, *pair) for f in firsts for pair in (("D1", "D2"), ("D2", "D1"))}
    assert set(orders.values()) == {len(sets) // len(orders)}
    with house.read() as db:
        rows = db.scalars(select(KeyRow)).all()
        marked = {row.code for row in rows if row.kind is GlassKind.REFERENCE}
    assert marked == {codes[0] for _, _, codes in sets}
    assert len(rows) == len({code for *_, codes in sets for code in codes})


def test_who_comes_late_finds_the_reference_first_too(house: Store) -> None:
    plan = set_plan(LIKE, assessors=CODES[:-1])
    opened(house, plan)
    with house.write() as db:
        late = db.scalars(select(Person).where(Person.code == CODES[-1])).one()
        lay_late_tray(db, db.scalars(select(PanelSession)).one(), late)
    with house.read() as db:
        rows = db.scalars(select(KeyRow)).all()
        marked = {row.code for row in rows if row.kind is GlassKind.REFERENCE}
    mine = [codes for who, _, codes in laid(house) if who == CODES[-1]]
    assert [[code in marked for code in codes] for codes in mine] == [[True, False, False]] * 2


def test_a_plan_of_threes_says_what_finds_as_much_with_fewer_glasses(house: Store) -> None:
    odd, like = ("\n".join(lines_of(house, set_plan(kind))) for kind in (ODD, LIKE))
    assert "Threes, two of one product: which is the odd one?" in odd
    assert "6 glasses each in 2 sets" in odd
    assert "220 answers find it 80 times in 100 (first 202)" in odd
    assert "That takes 660 glasses. With fewer it is found by fours, 260 glasses (65 " in odd
    assert "in which they differ, 66 glasses (33 answers)" in odd
    assert "That takes 723 glasses." in like
    assert "Now the one is the reference, now the other, as often (balanced)." in like
    always = "\n".join(lines_of(house, set_plan(LIKE, reference="D2")))
    assert "The reference is always D2 (constant)" in always
    with pytest.raises(PlanRefused, match="'R0' is to be the marked reference and is none of"):
        lines_of(house, set_plan(LIKE, reference="R0"))


# ---------------------------------------------------------------------- answered


def test_an_answer_is_kept_whole_with_its_history(house: Store) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    answer_all(house, plan, picks("D1"))
    with house.read() as db:
        places = Counter(answer.value for answer in db.scalars(select(Answer)))
        assert places == {1.0: 12, 2.0: 12}
        assert len(db.scalars(select(AnswerChange)).all()) == 24
        assert all(glass.finished_at for glass in db.scalars(select(Serving)))


def test_nothing_is_judged_before_the_reveal(house: Store) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    answer_all(house, plan, picks("D1"))
    with house.write() as db:
        close_session(db, plan.name, now=FIXED_NOW, by=LEAD)
    with house.read() as db, pytest.raises(WrongState, match="its key tells"):
        session_answer(db, plan.name)


@pytest.mark.parametrize(
    ("plan", "answers", "word", "said"),
    some_rows(
        [
            (set_plan(PAIRS), picks("D2"), "different", "D2 has more of it"),
            (set_plan(PAIRS), picks("D2", 0.5), "cannot tell yet", "cannot be told yet"),
            (
                set_plan(PAIRS, replicates=8, alike_within=1.0),
                picks("D1", 0.5),
                "alike",
                "within a d-prime of 1",
            ),
            (set_plan(PAIRS, stronger="D1"), picks("D2"), "cannot tell yet", "0 of 12 answers"),
            (set_plan(FOURS), sorts(), "different", "12 of 12 sets were sorted right"),
            (set_plan(FOURS), sorts(0.3), "cannot tell yet", "cannot be told yet"),
            (set_plan(ODD), odd_ones(), "different", "12 of 12 sets were right about the odd one"),
            (set_plan(ODD), odd_ones(0.3), "cannot tell yet", "cannot be told yet"),
            (set_plan(LIKE), likes(), "different", "12 of 12 sets were right about what is like"),
            (
                set_plan(LIKE, reference="D1", replicates=5, alike_within=3.0),
                likes(0.5),
                "alike",
                "within a d-prime of 3",
            ),
            (set_plan(RANKED), ranks(("D3", "D1", "D2")), "different", "D3 before D2"),
        ],
        3,
    ),
)
def test_a_finding_is_in_words(
    house: Store, plan: object, answers: object, word: str, said: str
) -> None:
    opened(house, plan)  # type: ignore[arg-type]
    answer_all(house, plan, answers)  # type: ignore[arg-type]
    revealed(house, plan)  # type: ignore[arg-type]
    with house.read() as db:
        found = session_answer(db, "pairs")
    document = found.to_dict()
    assert document["verdict"] == word
    assert said in document["sentence"]
    lines = "\n".join(SESSION_LINES[plan.kind](found, Part()))  # type: ignore[attr-defined]
    assert lines.startswith(word.upper())
