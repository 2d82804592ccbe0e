"""Sessions in which different assessors get different samples, from the plan to the key."""

from __future__ import annotations

import re
from collections import Counter
from datetime import datetime
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from panel.errors import PlanRefused
from panel.frames import scores_frame
from panel.kinds import GlassKind, SessionKind
from panel.session.assigned import Assigned, assigned_faults, groups_that_meet, read_assigned
from panel.session.blueprint import blueprint_of
from panel.session.codes import clash, generator
from panel.session.drafts import drop_draft, planned_again
from panel.session.plan import plan_session, summarise
from panel.session.pours import pour_needs
from panel.session.seal import seal_session
from panel.session.shares import spread_duplicates
from panel.session.sheets import pour_sheet, tray_labels
from panel.session.stages import close_session, open_session, reveal_session
from panel.session.volumes import poured_of
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow, PlannedServing
from panel.store.sessions import PanelSession, Serving
from tests.examples import examples
from tests.houses.to_plan import CODES, plan, score_all

WHO = {
    "A1": ("D1", "D2", "D3", "D4"),
    "A2": ("D1", "D2", "D5", "D6"),
    "A3": ("D3", "D4", "D5", "D6"),
    "A4": ("D1", "D3", "D5", "D7"),
    "A5": ("D2", "D4", "D6", "D7"),
    "A6": ("D1", "D4", "D5", "D7", "D14"),
}
PAIRS = tuple(Assigned(who, sample) for who, samples in WHO.items() for sample in samples)


def planned(house: Store, now: datetime, **changes: object) -> None:
    with house.write() as db:
        asked = {"assessors": (), "draws": (), "assigned": PAIRS, **changes}
        plan_session(db, plan(**asked), now=now, by="L1")


@pytest.fixture
def sealed(house: Store, fixed_now: datetime) -> Store:
    planned(house, fixed_now)
    with house.write() as db:
        seal_session(db, "spring", now=fixed_now, by="L1")
    return house


def trays_of(house: Store) -> dict[str, list[tuple[str, GlassKind, int]]]:
    """What stands before each assessor in order: label of the draw, kind and replicate."""
    with house.read() as db:
        key = {row.code: row for row in db.scalars(select(KeyRow)) if not row.tray}
        own = {(row.tray, row.code): row for row in db.scalars(select(KeyRow)) if row.tray}
        found: dict[str, list[tuple[str, GlassKind, int]]] = {}
        for glass in db.scalars(select(Serving).order_by(Serving.flight, Serving.position)):
            who = glass.person.code
            row = own[who, glass.code] if own else key[glass.code]
            found.setdefault(who, []).append((row.draw.label, row.kind, row.replicate))
        return found


def test_everybody_gets_what_was_assigned_and_blind_glasses_beside_it(sealed: Store) -> None:
    for who, tray in trays_of(sealed).items():
        tests = Counter(label for label, kind, _ in tray if kind is GlassKind.TEST)
        assert set(tests) == set(WHO[who])
        assert sorted(tests.values()) == [1] * (len(WHO[who]) - 1) + [2]
        assert [kind for _, kind, _ in tray].count(GlassKind.REFERENCE) == 1
        assert tray[0][:2] == ("W0", GlassKind.WARM_UP)


def test_the_samples_that_stand_twice_are_spread(sealed: Store) -> None:
    twice: Counter[str] = Counter()
    for tray in trays_of(sealed).values():
        tests = Counter(label for label, kind, _ in tray if kind is GlassKind.TEST)
        twice.update(label for label, count in tests.items() if count == 2)
    assert max(twice.values()) == 1  # six trays, eight samples


def test_no_smoky_glass_comes_before_another(sealed: Store) -> None:
    assert trays_of(sealed)["A6"][-1][0] == "D14"  # the one smoky draw of that tray


def test_codes_of_a_tray_keep_their_distance_and_are_one_a_pouring(sealed: Store) -> None:
    with sealed.read() as db:
        key = [row.code for row in db.scalars(select(KeyRow))]
        assert len(set(key)) == len(key)
        for who in CODES:
            codes = [s.code for s in db.scalars(select(Serving)) if s.person.code == who]
            assert not any(clash(a, b) for i, a in enumerate(codes) for b in codes[:i])


def test_key_sheets_and_volumes_follow_from_the_trays(sealed: Store, fixed_now: datetime) -> None:
    served = Counter(label for tray in trays_of(sealed).values() for label, _, _ in tray)
    with sealed.read() as db:
        session = db.scalars(select(PanelSession)).one()
        needs = pour_needs(db, blueprint_of(db, session))
        assert {need.draw: need.glasses for need in needs} == served
        draws = {draw.label: draw.id for draw in db.scalars(select(Draw))}
        poured = poured_of(db, list(draws.values()))
        most = max(served.values())  # before the reveal each counts as the one that is poured most
        for label in served:
            (one,) = poured[draws[label]]
            assert one.millilitres == pytest.approx(most * 20.0 / 0.9, rel=0.2)
    with sealed.write() as db:
        sheet = pour_sheet(db, "spring", now=fixed_now, by="P1")
        labels = tray_labels(db, "spring", now=fixed_now, by="P1")
        for row in db.scalars(select(KeyRow)):
            seats = sorted(
                CODES.index(s.person.code) + 1
                for s in db.scalars(select(Serving).where(Serving.code == row.code))
            )
            line = next(line for line in sheet.splitlines() if line.startswith(row.code))
            assert [int(n) for n in line[-22:].split("  ")[-1].split(", ")] == seats
        a1 = {s.code for s in db.scalars(select(Serving)) if s.person.code == "A1"}
    block = labels.split("assessor A1")[1].split("---")[0]
    assert set(re.findall(r"\b\d{3}\b", block)) == a1


def test_scores_of_such_a_session_come_out_by_sample(sealed: Store, fixed_now: datetime) -> None:
    with sealed.write() as db:
        open_session(db, "spring", now=fixed_now, by="L1")
        score_all(db, fixed_now)
        close_session(db, "spring", now=fixed_now, by="L1")
        assert reveal_session(db, "spring", now=fixed_now, by="L1").matches
    with sealed.read() as db:
        frame = scores_frame(db)
    tests = frame[frame["kind"] == "test"]
    for who, samples in WHO.items():
        assert set(tests.loc[tests["assessor"] == who, "sample"]) == set(samples)


def test_own_codes_are_made_for_what_is_on_the_tray_only(house: Store, fixed_now: datetime) -> None:
    planned(house, fixed_now, codes_per_assessor=True)
    with house.write() as db:
        seal_session(db, "spring", now=fixed_now, by="L1")
        key = {(row.tray, row.code) for row in db.scalars(select(KeyRow))}
        assert key == {(s.person.code, s.code) for s in db.scalars(select(Serving))}
    assert {label for label, kind, _ in trays_of(house)["A1"] if kind is GlassKind.TEST} == set(
        WHO["A1"]
    )


def test_the_plan_names_who_gets_what_and_no_amounts(house: Store, fixed_now: datetime) -> None:
    planned(house, fixed_now)
    with house.read() as db:
        summary = summarise(db, "spring")
        told = summary.without_pours()
    assert {tray.assessor: tray.draws for tray in summary.trays} == WHO
    assert {tray.glasses for tray in summary.trays} == {7, 8}
    assert "7 to 8 glasses each" in " ".join(told.lines())
    assert "A6 gets 5: D1, D4, D5, D7, D14." in told.lines()
    assert told.draws_reason is not None


def test_a_draft_is_planned_again_as_it_was_and_dropped_whole(
    house: Store, fixed_now: datetime
) -> None:
    planned(house, fixed_now)
    with house.write() as db:
        again = planned_again(db, "spring")
        assert set(again.assigned) == set(PAIRS)
        assert (again.replicates, again.duplicates) == (1, ("auto",))
        plan_session(db, again, now=fixed_now, by="L1")
        assert {t.assessor: set(t.draws) for t in summarise(db, "spring").trays} == {
            who: set(samples) for who, samples in WHO.items()
        }
        drop_draft(db, "spring", now=fixed_now, by="L1")
        assert db.scalars(select(PlannedServing)).all() == []


def test_all_to_all_is_laid_as_ever(house: Store, fixed_now: datetime) -> None:
    pairs = tuple(Assigned(who, f"D{n}") for who in CODES for n in range(1, 7))
    planned(house, fixed_now, assigned=pairs)
    with house.read() as db:
        assert db.scalars(select(PlannedServing)).all() == []
        assert summarise(db, "spring").trays == ()


@pytest.mark.slow
def test_a_tray_of_many_samples_takes_several_flights(house: Store, fixed_now: datetime) -> None:
    wide = {who: [f"D{n}" for n in range(1, 14) if (n + i) % 6] for i, who in enumerate(CODES)}
    pairs = tuple(Assigned(who, sample) for who, own in wide.items() for sample in own)
    planned(house, fixed_now, assigned=pairs)
    with house.write() as db:
        seal_session(db, "spring", now=fixed_now, by="L1")
        flights = Counter(
            (s.person.code, s.flight) for s in db.scalars(select(Serving)) if not s.warm_up
        )
    assert all(flights[who, 1] and flights[who, 2] for who in CODES)
    assert max(flights.values()) <= 8
    for tray in trays_of(house).values():
        assert sum(kind is GlassKind.REFERENCE for _, kind, _ in tray) == 2


def test_every_fault_of_the_pairs_is_said_at_once(house: Store, fixed_now: datetime) -> None:
    wrong = (*PAIRS, PAIRS[0], Assigned("A9", "D1"), Assigned("A1", "D99"), Assigned("A1", "R0"))
    asked = plan(assigned=wrong, draws=(*(f"D{n}" for n in range(1, 9)), "D14"))
    with house.write() as db, pytest.raises(PlanRefused) as refused:
        plan_session(db, asked, now=fixed_now, by="L1")
    for piece in (
        "'D1' stands 2 times for 'A1'",
        "to the assessor 'A9'",
        "to the sample 'D99'",
        "to the sample 'R0'",
        "Nobody gets the sample 'D8'",
    ):
        assert piece in str(refused.value)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"assigned": (Assigned("A1", "D1"), Assigned("A2", "D2"))},
            "fall into 2 groups that no assessor links",
        ),
        (
            {"kind": SessionKind.OWN_WORDS, "descriptors": ()},
            "everybody noses every glass",
        ),
        ({"assessors": (*CODES, "L1")}, "Assessor 'L1' gets no sample"),
        ({"assigned": (Assigned("A1", "D77"),)}, "There is no draw 'D77'"),
        ({"duplicates": ("auto",) * 5}, "some trays hold fewer samples"),
    ],
)
def test_what_cannot_be_served_is_refused(
    house: Store, fixed_now: datetime, changes: dict[str, object], said: str
) -> None:
    asked = plan(**{"assessors": (), "draws": (), "assigned": PAIRS, **changes})
    with house.write() as db, pytest.raises(PlanRefused, match=said):
        plan_session(db, asked, now=fixed_now, by="L1")


def test_a_file_of_pairs_is_read_with_all_its_faults() -> None:
    pairs, faults = read_assigned("\ufeffassessor,sample,value\nA1, D1,.4\n\nA2,D2,.1\n")
    assert (pairs, faults) == ((Assigned("A1", "D1"), Assigned("A2", "D2")), ())
    _, faults = read_assigned("assessor,sample\nA1,\n,D2\nA3,D3\n")
    assert faults == ("Row 2 names no sample.", "Row 3 names no assessor.")
    _, faults = read_assigned("who,sample\nA1,D1\n")
    assert faults == ("There is no column assessor; the columns are: who, sample.",)
    _, faults = read_assigned("")
    assert "no column assessor and no sample" in faults[0]
    _, faults = read_assigned("assessor,sample\n")
    assert "names nobody" in faults[0]


@pytest.mark.slow
@settings(max_examples=examples(40), deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 7)), min_size=1, max_size=25))
def test_groups_are_those_that_trays_tie_together(lines: list[tuple[int, int]]) -> None:
    pairs = tuple(Assigned(f"A{who}", f"D{sample}") for who, sample in lines)
    groups = groups_that_meet(pairs)
    flat = [sample for group in groups for sample in group]
    assert sorted(flat) == sorted({pair.sample for pair in pairs})
    for who in {pair.assessor for pair in pairs}:
        own = {pair.sample for pair in pairs if pair.assessor == who}
        assert sum(bool(own & set(group)) for group in groups) == 1
    apart = [f for f in assigned_faults(pairs, (), ()) if "groups" in f]
    assert bool(apart) == (len(groups) > 1)


@settings(max_examples=examples(60), deadline=None)
@given(
    st.lists(st.sets(st.integers(0, 6), min_size=1, max_size=5), min_size=1, max_size=7),
    st.integers(0, 2**32),
)
def test_what_stands_twice_is_as_even_as_any_choice(trays: list[set[int]], seed: int) -> None:
    own = [sorted(tray) for tray in trays]
    chosen = spread_duplicates(own, 1, generator(seed, "duplicate"), range(7))
    times = Counter(sample for twice in chosen for sample in twice)
    assert all(len(t) == 1 and set(t) <= tray for t, tray in zip(chosen, trays, strict=True))
    best = min(sum(n * n for n in Counter(choice).values()) for choice in product(*own))
    assert sum(n * n for n in times.values()) == best
