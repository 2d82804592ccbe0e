"""Acts on a release that reckon nothing, as they are written: blends, mixing, giving up."""

from __future__ import annotations

import json
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest
from sqlalchemy.orm import Session

from panel.errors import NotAllowed, OakpanelError, ReleaseError, WrongStage
from panel.kinds import DrawKind, ReleaseStatus
from panel.release.bench import mix_bench
from panel.release.mixing import keep_mixing, set_exponents
from panel.release.next_glasses import _on_the_bench, _undecided
from panel.release.recipe import CHANGED, NO_TARGET, BenchPart, Recipe, bench_recipe, still_so
from panel.release.steps import cancel
from panel.session.liquids import liquids_of
from panel.store.engine import Store
from panel.store.mixing_notes import MixingNote
from panel.store.release_records import find_release
from tests.release.bare import FIRST, NOW, TODAY, add_release, build_bare, last_act

MIX: Any = {"volume_ml": 100.0, "as_of": TODAY, "now": NOW, "by": "BL"}
STEP: Any = {"on": TODAY, "now": NOW, "by": "BL"}


@pytest.fixture
def house(store: Store) -> Store:
    build_bare(store)
    return store


def test_a_bench_blend_is_poured_by_the_litres_and_written_down(house: Store) -> None:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0), ("X2", 90.0))
        first = mix_bench(db, "Spring", **MIX)
        second = mix_bench(db, "Spring", **{**MIX, "label": "On the bench"})
        assert last_act(db).count("bench blend mixed") == 1
    assert [(part.cask, part.millilitres) for part in first.parts] == [("X2", 75.0), ("X1", 25.0)]
    assert first.volume_ml == pytest.approx(100.0, abs=1e-6)  # casks of one strength: no loss
    assert first.abv_percent == pytest.approx(60.0, abs=1e-6)
    assert (first.sample, second.sample) == ("Spring-B1", "On the bench")
    assert (first.probability, first.probability_reason) == (None, "it was not asked")
    assert first.planned_probability == 0.7
    with house.read() as db:
        draw = find_release(db, "Spring").benches[0].draw
        assert (draw.label, draw.kind, draw.drawn_on) == ("Spring-B1", DrawKind.TRIAL, TODAY)
        assert (draw.abv, draw.volume_ml) == (60.0, 100.0)
        poured = {part.filling_id: part.millilitres for part in draw.parts}
        stored = {part.filling_id: part.litres for part in find_release(db, "Spring").parts}
    assert {filling: 100.0 * litres / 120.0 for filling, litres in stored.items()} == poured


def test_a_blends_strength_is_reckoned_until_somebody_measures_it(house: Store) -> None:
    with house.write() as db:
        release = add_release(db, "Spring", ("X1", 30.0), ("X2", 90.0))
        release.parts[0].abv = 55.0  # as it was proposed; a regauge since changes no blend
        mix_bench(db, "Spring", **MIX)
    with house.write() as db:
        draw = find_release(db, "Spring").benches[0].draw
        reckoned = liquids_of(db, [draw], TODAY)[draw.id].strength
        assert reckoned is not None
        assert reckoned.words() == f"{draw.abv:.1f} % vol (reckoned from its parts)"
        draw.abv = 57.1
        measured = liquids_of(db, [draw], TODAY)[draw.id].strength
        assert measured is not None
        assert measured.words() == f"57.1 % vol (measured on the draw of {TODAY})"


def test_the_next_blend_has_the_next_name_and_no_name_comes_twice(house: Store) -> None:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0), ("X2", 90.0))
        names = [mix_bench(db, "Spring", **MIX).sample for _ in range(2)]
        assert names == ["Spring-B1", "Spring-B2"]
        with pytest.raises(ReleaseError, match="'Spring-B2' already"):
            mix_bench(db, "Spring", **{**MIX, "label": "Spring-B2"})


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"volume_ml": 0.0}, "0 mL: give more than nothing"),
        ({"volume_ml": -5.0}, "-5 mL: give more"),
        ({"as_of": date(2026, 3, 1)}, "before release Spring was proposed, 2026-03-02"),
        ({"as_of": date(2026, 3, 15)}, "after today, 2026-03-14"),
    ],
)
def test_what_cannot_be_mixed_is_refused(house: Store, asked: dict[str, Any], said: str) -> None:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0))
        with pytest.raises(ReleaseError, match=said):
            mix_bench(db, "Spring", **{**MIX, **asked})
        assert find_release(db, "Spring").benches == []


SIGNED: dict[str, Any] = {"disgorged_on": FIRST, "signed_by": "LD", "lot_code": "L26061-1"}


@pytest.mark.parametrize(
    ("status", "more", "mixes"),
    [
        (ReleaseStatus.SIGNED, SIGNED, True),
        (ReleaseStatus.BOTTLED, {**SIGNED, "bottled_on": TODAY}, False),
        (ReleaseStatus.CANCELLED, {}, False),
    ],
)
def test_nothing_is_mixed_for_what_is_over(
    house: Store, status: ReleaseStatus, more: dict[str, Any], mixes: bool
) -> None:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0), status=status, **more)
        if mixes:
            assert mix_bench(db, "Spring", **MIX).sample == "Spring-B1"
            _undecided(db, "Spring")
            return
        with pytest.raises(WrongStage, match="nothing is mixed for it"):
            mix_bench(db, "Spring", **MIX)
        with pytest.raises(OakpanelError, match=f"it is {status.value}"):
            _undecided(db, "Spring")


def test_a_chance_goes_with_the_parts_it_was_reckoned_of(house: Store) -> None:
    parts = (BenchPart("X1", "X1/1", 100.0, 60.0),)
    reckoned = Recipe(parts, 0.4, None)
    assert still_so(reckoned, parts) is reckoned
    assert still_so(reckoned, (BenchPart("X1", "X1/1", 99.5, 60.0),)).reason == CHANGED
    with house.write() as db:
        found = {"found_json": json.dumps({"probability": 0.55})}
        add_release(db, "Spring", ("X1", 30.0), aim=None, **found)
        mixed = mix_bench(db, "Spring", **{**MIX, "recipe": reckoned})
        assert (mixed.probability, mixed.planned_probability) == (0.4, 0.55)
        assert mixed.parts == parts
        told = bench_recipe(db, "Spring", volume_ml=100.0, as_of=TODAY)
        assert (told.parts, told.reason) == (parts, NO_TARGET)
        none = bench_recipe(db, "Spring", volume_ml=0.0, as_of=TODAY)
        assert (none.parts, none.reason) == ((), "0 mL are nothing")
        with pytest.raises(OakpanelError, match="it has no target"):
            _undecided(db, "Spring")


def test_the_newest_blend_with_a_glass_left_is_the_one_on_the_bench(house: Store) -> None:
    with house.write() as db:
        release = add_release(db, "Spring", ("X1", 30.0))
        assert _on_the_bench(db, release, TODAY) == (None, None)
        for _ in range(2):
            mix_bench(db, "Spring", **MIX)
        found, glasses = _on_the_bench(db, release, TODAY)
        assert (found, (glasses or 0) > 0) == ("Spring-B2", True)
        release.benches[1].draw.volume_ml = 1.0  # not a glass of it is left
        assert _on_the_bench(db, release, TODAY) == ("Spring-B1", glasses)


def test_a_release_is_given_up_with_a_reason_while_its_casks_lie(house: Store) -> None:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0))
        add_release(db, "In the vat", ("X2", 30.0), disgorged_on=TODAY, disgorged_by="BL")
        for reason in ("", "  "):
            with pytest.raises(ReleaseError, match="Say why it is given up"):
                cancel(db, "Spring", reason, **STEP)
        with pytest.raises(ReleaseError, match="was proposed, 2026-03-02"):
            cancel(db, "Spring", "no casks", **{**STEP, "on": date(2026, 3, 1)})
        with pytest.raises(WrongStage, match="cannot go back"):
            cancel(db, "In the vat", "no casks", **STEP)
        with pytest.raises(NotAllowed):
            cancel(db, "Spring", "no casks", **{**STEP, "by": "LD"})
        found = cancel(db, "Spring", " no casks ", **STEP)
        assert (found.status, found.cancelled_on) == (ReleaseStatus.CANCELLED, TODAY)
        assert found.cancelled_because == "no casks"
        assert "release cancelled" in last_act(db)
        with pytest.raises(WrongStage):
            cancel(db, "Spring", "no casks", **STEP)


def notes_kept(db: Session) -> dict[str, tuple[object, ...]]:
    return {
        note.descriptor.name: (note.exponent, note.gain, note.panel_sd, note.source, note.kept_on)
        for note in db.query(MixingNote)
    }


@pytest.mark.parametrize(
    ("exponent", "said"), [(0.0, "lies above 0"), (-0.5, "lies above 0"), (5.01, "up to 5")]
)
def test_an_exponent_lies_above_nothing_and_up_to_five(
    house: Store, exponent: float, said: str
) -> None:
    with house.write() as db:
        with pytest.raises(OakpanelError, match=said):
            set_exponents(db, {"smoke": exponent}, **STEP)
        with pytest.raises(OakpanelError, match="no note 'tar'"):
            set_exponents(db, {"tar": 0.5}, **STEP)
        with pytest.raises(NotAllowed):
            set_exponents(db, {"smoke": 0.5}, **{**STEP, "by": "LD"})
        set_exponents(db, {"smoke": 5.0, "plum": 0.5}, **STEP)
        assert "mixing set" in last_act(db)
        assert notes_kept(db) == {
            "smoke": (5.0, 1.0, None, "set by hand", TODAY),
            "plum": (0.5, 1.0, None, "set by hand", TODAY),
        }


def test_only_what_the_blends_taught_is_kept(house: Store) -> None:
    """A note that they taught nothing of stays; the panel's error goes to those taught."""
    taught = SimpleNamespace(descriptor="smoke", learnt=True, n_blends=7, exponent=0.6, gain=1.1)
    untaught = SimpleNamespace(descriptor="plum", learnt=False, n_blends=7, exponent=0.9, gain=1.4)
    learned: Any = SimpleNamespace(notes=(taught, untaught), panel_sd=2.5, n_blends=7, sentence="-")
    with house.write() as db:
        set_exponents(db, {"smoke": 0.5, "plum": 0.5}, **{**STEP, "on": FIRST})
        assert keep_mixing(db, learned, **STEP) == ["smoke"]
        assert "mixing learnt" in last_act(db)
        assert notes_kept(db) == {
            "smoke": (0.6, 1.1, 2.5, "7 bench blends", TODAY),
            "plum": (0.5, 1.0, None, "set by hand", FIRST),
        }
        nothing = SimpleNamespace(notes=(untaught,), sentence="Too few.")
        with pytest.raises(OakpanelError, match="Nothing to keep"):
            keep_mixing(db, cast(Any, nothing), **STEP)
        with pytest.raises(NotAllowed):
            keep_mixing(db, learned, **{**STEP, "by": "LD"})
