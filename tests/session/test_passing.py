"""A passing session: how it is laid, what its marks lead to, and who lifts a hold."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select

from panel.errors import EntriesAtFault, NotAllowed, PlanRefused
from panel.kinds import Fault, Manner
from panel.questions.passing import do_not_empty, passing_answer
from panel.records.casks import hold_filling
from panel.records.lifting import lift_passing_hold
from panel.records.planting import keep_sound, keep_spike, planted_lines
from panel.session.blueprint import blueprint_of
from panel.session.codes import clash
from panel.session.passing_asked import PassingAsked
from panel.session.passing_parcel import FEWEST_UNAWARE
from panel.session.plan import plan_session
from panel.session.pours import PourNeed, pour_needs
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.finding import find_session
from panel.store.passing import Passing
from panel.store.sessions import PanelSession
from tests.houses.to_pass import (
    PLAN,
    SOUND,
    SPIKES,
    answer,
    behind,
    build_to_pass,
    good_nose,
    spike,
    to_open,
    to_reveal,
)
from tests.houses.to_plan import HELD_ON

CASKS = 24
BLOCK = 12


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now, casks=CASKS, smoky=8)
    return store


@pytest.fixture
def opened(house: Store, fixed_now: datetime) -> Store:
    to_open(house, fixed_now, assessors=("A1", "A2"), seed=None)
    return house


# ---------------------------------------------------------------------- laid


def test_every_cask_stands_on_every_tray_and_one_in_ten_twice(opened: Store) -> None:
    with opened.read() as db:
        found = behind(db, "morning")
        for nose in ("A1", "A2"):
            poured = Counter(label for _, code, label in found if code == nose)
            real = {label: n for label, n in poured.items() if label.startswith("D")}
            real.pop(SOUND, None)
            assert set(real) == {f"D{n}" for n in range(2, CASKS + 1)}
            assert sorted(real.values()) == [1] * (CASKS - 3) + [2, 2]


def test_blocks_rise_in_smoke_and_their_codes_keep_apart(opened: Store) -> None:
    with opened.read() as db:
        blocks: dict[tuple[str, int], list[tuple[str, str]]] = {}
        for serving, nose, label in behind(db, "morning"):
            blocks.setdefault((nose, serving.flight), []).append((serving.code, label))
    for glasses in blocks.values():
        codes = [code for code, _ in glasses]
        assert len(glasses) <= BLOCK
        assert not any(clash(a, b) for i, a in enumerate(codes) for b in codes[:i])
        assert sum("mould" in label for _, label in glasses) <= 1
    for nose in ("A1", "A2"):
        order = [label for key in sorted(blocks) if key[0] == nose for _, label in blocks[key]]
        smoky = [label.startswith("D") and int(label[1:]) > CASKS - 8 for label in order]
        assert smoky == sorted(smoky)
    own = {nose: {c for key in blocks if key[0] == nose for c, _ in blocks[key]} for nose in "12"}
    assert not own["1"] & own["2"]


def test_the_number_of_planted_glasses_changes_from_block_to_block(
    house: Store, fixed_now: datetime
) -> None:
    counts = set()
    for seed in range(4):
        to_open(house, fixed_now, name=f"m{seed}", seed=seed)
        with house.read() as db:
            planted = Counter(
                serving.flight
                for serving, _, label in behind(db, f"m{seed}")
                if label == SOUND or label.startswith("spike")
            )
        counts |= {planted.get(block, 0) for block in (1, 2)}
    assert len(counts) > 1


def test_noses_are_told_make_wood_year_and_families_never_a_cask(opened: Store) -> None:
    with opened.read() as db:
        row = db.scalars(select(Passing)).one()
        session = db.scalars(select(PanelSession)).one()
    assert row.told.startswith("low, smoky; oak; filled 2012. ")
    assert "sulphur, mould or cork, solvent; nose only" in row.told
    assert not any(str(4000 + n) in row.told for n in range(1, CASKS + 1))
    assert (row.air_s, session.pause_s, session.codes_per_assessor) == (600, 0, True)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"manner": Manner.TASTE}, "no glass is tasted"),
        ({"descriptors": ("bonfire",)}, "no descriptor is scored"),
        ({"draws": (SOUND,)}, "kept to be planted"),
        ({"draws": ("R0",)}, "comes from no cask"),
        ({"passing": PassingAsked(parcel="high")}, "no parcel 'high'"),
        ({"passing": PassingAsked(again_of="nothing")}, "nothing"),
        ({"reference": "R0"}, "no reference"),
    ],
)
def test_what_speaks_against_it(
    house: Store, fixed_now: datetime, changes: dict[str, object], said: str
) -> None:
    with pytest.raises(PlanRefused, match=said), house.write() as db:
        plan_session(db, replace(PLAN, **changes), now=fixed_now, by="L1")  # type: ignore[arg-type]


def test_a_spike_has_a_sheet_and_stands_on_known_sound_spirit(
    house: Store, fixed_now: datetime
) -> None:
    wrong = spike(Fault.RUBBER, base="D2", stock=" ", safety_sheet="", made_by="ZZ", abv_percent=0)
    with pytest.raises(EntriesAtFault) as refused, house.write() as db:
        keep_spike(db, wrong, now=fixed_now, by="L1")
    assert set(refused.value.faults) == {"base", "stock", "safety_sheet", "made_by", "abv_percent"}
    with pytest.raises(EntriesAtFault, match="is from no cask"), house.write() as db:
        keep_sound(db, "R0", now=fixed_now, by="L1")
    with house.read() as db:
        assert [line.fault for line in planted_lines(db)] == [None, *sorted_by_name()]


def sorted_by_name() -> list[Fault]:
    return sorted(SPIKES, key=lambda fault: f"spike {fault.value}")


# ---------------------------------------------------------------------- held


def test_one_nose_asks_for_a_second_and_two_hold(opened: Store, fixed_now: datetime) -> None:
    def rule(nose: str, label: str) -> tuple[Fault, ...]:
        if label == "D5" or (label == "D6" and nose == "A1"):
            return (Fault.SULPHUR,)
        return good_nose(nose, label)

    answer(opened, "morning", fixed_now, rule)
    notes = to_reveal(opened, "morning", fixed_now)
    assert any("4006" in note and "second nose" in note for note in notes)
    assert any("4005" in note and "is held" in note for note in notes)
    with opened.read() as db:
        found = passing_answer(db, "morning").result
        slips = do_not_empty(db, HELD_ON)
        reasons = {
            filling.label: filling.hold_reason
            for filling in db.scalars(select(Filling).where(Filling.hold_reason.is_not(None)))
        }
    assert found.sentences[0] == f"{CASKS - 3} passed, 1 to nose again, 1 held."
    assert all(nose.caught.hits == nose.caught.of for nose in found.noses)
    assert [(slip.cask, slip.held) for slip in slips] == [("4005", True), ("4006", False)]
    assert set(reasons) == {slip.filling for slip in slips}


@pytest.mark.slow
def test_a_second_nose_on_another_day_repeats_it_or_clears_it(
    house: Store, fixed_now: datetime
) -> None:
    to_open(house, fixed_now)
    held = {"D5", "D6"}
    answer(house, "morning", fixed_now, lambda _, at: (Fault.RUBBER,) if at in held else ())
    to_reveal(house, "morning", fixed_now)
    later = fixed_now + timedelta(days=1)
    with pytest.raises(PlanRefused, match="a second nose is another person"):
        to_open(house, later, name="again", passing=PassingAsked(again_of="morning"))
    again = PassingAsked(again_of="morning")
    to_open(house, later, name="again", assessors=("A2",), passing=again)
    with house.read() as db:
        casks = {label for _, _, label in behind(db, "again") if label.startswith("D")} - {SOUND}
    assert held < casks
    assert len(casks) == FEWEST_UNAWARE  # held ones, and passed ones until a nose cannot tell
    answer(house, "again", later, lambda _, at: (Fault.SULPHUR,) if at == "D5" else ())
    with pytest.raises(NotAllowed, match="has passed"), house.write() as db:
        lift_passing_hold(db, "4006", now=later, by="L1")
    notes = to_reveal(house, "again", later)
    assert any("4005" in note and "held by 2 noses in morning and again" in note for note in notes)
    with house.read() as db:
        assert passing_answer(db, "again").result.held == 1
    with pytest.raises(NotAllowed, match=r"2 noses held 4005.*: it stays"), house.write() as db:
        lift_passing_hold(db, "4005", now=later, by="L1")
    with house.write() as db:
        done = lift_passing_hold(db, "4006", now=later, by="L1")
    assert (done.passed_by, done.session) == (("A2",), "again")
    with house.read() as db:
        assert [slip.cask for slip in do_not_empty(db, HELD_ON)] == ["4005"]


@pytest.mark.slow
def test_no_other_way_lifts_it(opened: Store, fixed_now: datetime) -> None:
    answer(opened, "morning", fixed_now, lambda _, at: (Fault.SOAPY,) if at == "D7" else ())
    to_reveal(opened, "morning", fixed_now)
    with opened.read() as db:
        (label,) = (slip.filling for slip in do_not_empty(db, HELD_ON))
    report = hold_filling(opened, label, "", "", now=fixed_now, by="L1")
    assert "second nosing" in report.problems[0].message
    with opened.read() as db:
        assert do_not_empty(db, HELD_ON)


def test_of_a_spike_nothing_is_kept_back_and_its_strength_is_that_of_its_base(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        db.scalars(select(Draw).where(Draw.label == SOUND)).one().abv = 59.9
        for fault in (Fault.RUBBER, Fault.SOAPY):
            abv = None if fault is Fault.SOAPY else 58.0
            keep_spike(db, spike(fault, abv_percent=abv), now=fixed_now, by="L1")
    needs: dict[str, PourNeed] = {}
    for seed in range(3):
        with house.write() as db:
            name = f"m{seed}"
            plan_session(db, replace(PLAN, name=name, seed=seed), now=fixed_now, by="L1")
            needs |= {
                need.draw: need for need in pour_needs(db, blueprint_of(db, find_session(db, name)))
            }
    soapy, rubber = needs["spike soapy"], needs["spike rubber"]
    assert soapy.strength == f"59.9 % vol (that of {SOUND}, which it was made on)"
    assert rubber.strength == "58.0 % vol (said of the spike)"
    assert needs[SOUND].strength.startswith("59.9 % vol (measured on the draw")
    assert soapy.draw_ml == soapy.spirit_ml
    assert (needs["D2"].draw_ml or 0) - (needs["D2"].spirit_ml or 0) == 50
