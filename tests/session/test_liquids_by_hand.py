"""Liquids, their mixing to nosing strength, glasses of a tray and incomplete designs, by hand."""

from __future__ import annotations

import random
from datetime import date
from itertools import combinations
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from panel.kinds import GlassKind
from panel.session.blocks import DesignError, efficiency, is_connected
from panel.session.incomplete import _a_efficiency, _greedy, near_balanced
from panel.session.liquids import (
    Strength,
    _from_parts,
    _holds,
    _phenol_ppm,
    _Records,
    _strength,
    _youngest,
)
from panel.session.pours import _Mix, tell_a_duplicate
from panel.session.sizes import draw_class, flights_by_class, glasses_of_each, is_unpeated

TODAY = date(2026, 3, 14)


def state(abv: float = 60.0, ppm: float | None = 1.0, **more: Any) -> Any:
    told = {"abv": abv, "phenol_ppm": ppm, "age_years": 12.0, "hold_reason": None, "label": "C1/1"}
    return SimpleNamespace(**{**told, **more})


def draw(*parts: tuple[int, float], filling: int | None = None, **more: Any) -> Any:
    made = [SimpleNamespace(filling_id=which, millilitres=ml) for which, ml in parts]
    told = {"abv": None, "reduced_to": None, "drawn_on": TODAY, "label": "D1"}
    return SimpleNamespace(filling_id=filling, parts=made, **{**told, **more})


def records(**states: Any) -> Any:
    held = {int(name[1:]): each for name, each in states.items()}
    return _Records(held, TODAY, 3.0, {})


def test_peat_of_a_blend_goes_by_its_pure_alcohol() -> None:
    """60 mL at 60 % of 1 ppm and 40 mL at 45 % of 40: 36 and 18 mL of alcohol, so 14 ppm."""
    known = records(s1=state(60.0, 1.0), s2=state(45.0, 40.0), s3=state(50.0, None))
    assert _phenol_ppm(draw((1, 60.0), (2, 40.0)), known) == pytest.approx(14.0)
    assert _phenol_ppm(draw(filling=2), known) == 40.0
    for unknown in (draw((1, 60.0), (3, 40.0)), draw((1, 60.0), (9, 40.0)), draw()):
        assert _phenol_ppm(unknown, known) is None


def test_the_strength_of_a_blend_is_mixed_by_mass_and_old_where_a_part_s_gauge_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Equal volumes of 60 % and 40 % come to about 50 %, a little less where they contract."""
    told = {1: Strength(60.0, "regauge", TODAY), 2: Strength(40.0, "regauge", TODAY, True)}
    monkeypatch.setattr(_Records, "strength", lambda _self, which, _on: told[which])
    known = records(s1=state(), s2=state())
    mixed = _from_parts(draw((1, 50.0), (2, 50.0)), known)
    assert mixed is not None
    assert mixed.abv_percent == pytest.approx(50.2, abs=0.3)
    assert (mixed.old, mixed.source) == (True, "reckoned from its parts")
    alone = _from_parts(draw((1, 50.0)), known)
    assert alone is not None
    assert (round(alone.abv_percent, 4), alone.old) == (60.0, False)
    assert _from_parts(draw(), known) is None
    assert _from_parts(draw((1, 50.0), (9, 50.0)), known) is None


def test_the_youngest_part_s_age_where_all_are_known_and_every_hold() -> None:
    assert _youngest([state(age_years=12.0), state(age_years=9.0)]) == 9.0
    assert _youngest([state(age_years=12.0), state(age_years=None)]) is None
    assert _youngest([]) is None
    held = [state(hold_reason="cork", label="C2/1"), state()]
    assert list(_holds(held)) == ["C2/1 is on hold (cork)"]


def test_what_a_spike_s_strength_is_said_to_be() -> None:
    drawn = Strength(58.0, "measured on the draw", TODAY)
    base = draw(abv=58.0, label="D9")
    for made_on, source in (
        (base, "that of D9, which it was made on"),
        (draw(abv=60.0, reduced_to=58.0, label="D9"), "that of D9, which it was made on"),
        (draw(abv=60.0, label="D9"), "said of the spike"),
    ):
        told = _strength(draw(reduced_to=20.0), drawn, made_on)
        assert told is not None
        assert (told.abv_percent, told.source) == (58.0, source)
    reduced = _strength(draw(reduced_to=20.0), drawn, None)
    assert reduced is not None
    assert (reduced.abv_percent, reduced.measured_on) == (20.0, TODAY)
    assert _strength(draw(), drawn, None) is drawn
    assert _strength(draw(), None, None) is None


def test_spirit_and_water_of_a_glass() -> None:
    """20 mL at 20 % of 60 % take 6 2/3 mL of spirit; water fills it up, and a little more."""

    def mix(abv: float | None) -> _Mix:
        strength = None if abv is None else Strength(abv, "regauge", TODAY)
        liquid: Any = SimpleNamespace(strength=strength)
        return _Mix(liquid, 20.0)

    spirit, water = mix(60.0).parts_ml(20.0)
    assert spirit == pytest.approx(20.0 / 3.0)
    assert water == pytest.approx(20.0 * 2.0 / 3.0, rel=0.03)
    assert (water or 0.0) > 20.0 * 2.0 / 3.0  # spirit and water contract
    assert mix(20.0).parts_ml(20.0) == (20.0, 0.0)
    assert mix(18.0).parts_ml(20.0) == (20.0, 0.0)
    assert mix(None).parts_ml(20.0) == (None, None)


@pytest.mark.parametrize(
    ("glasses", "tells"), [((2, 2), False), ((2, 3), True), ((2, None), True), ((), False)]
)
def test_how_much_is_poured_tells_a_duplicate(glasses: tuple[int | None, ...], tells: bool) -> None:
    needs: Any = [SimpleNamespace(glasses_a_tray=n, kind=GlassKind.TEST.value) for n in glasses]
    assert tell_a_duplicate(needs) is tells


def planned(**more: Any) -> Any:
    facts = SimpleNamespace(glasses_a_set=lambda n: n)
    told = {"duplicates": (), "replicates": 1, "assigned": (), "glasses_each": None}
    told |= {"trays": {"A1": ("D1", "D2", "D3"), "A2": ("D1", "D2")}, "reference": None}
    return SimpleNamespace(kind=SimpleNamespace(facts=facts), **{**told, **more})


@pytest.mark.parametrize(
    ("more", "glasses"),
    [
        ({}, (3, 2)),
        ({"replicates": 2}, (6, 4)),
        ({"replicates": 0}, (3, 2)),
        ({"glasses_each": 2}, (2, 2)),
        ({"duplicates": ("D3",)}, (4, 3)),
        ({"duplicates": ("D3",), "assigned": ("x",)}, (4, 2)),
        ({"duplicates": ("auto",)}, (4, 3)),
        ({"duplicates": ("auto",), "replicates": 2}, (6, 4)),
        ({"duplicates": ("auto", "D1")}, (5, 4)),
    ],
)
def test_glasses_of_each_tray(more: dict[str, Any], glasses: tuple[int, int]) -> None:
    assert tuple(glasses_of_each(planned(**more)).values()) == glasses


def test_flights_by_class_of_smoke(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five unpeated glasses and two smoky ones in flights of three: two and one."""
    monkeypatch.setattr("panel.session.sizes.flight_size", lambda _db, _plan: 3)
    draws: list[Any] = [SimpleNamespace(id=n) for n in range(7)]
    liquids = {n: SimpleNamespace(phenol_ppm=1.0 if n < 5 else 60.0) for n in range(6)}
    liquids[5].phenol_ppm = 60.0
    liquids[6] = SimpleNamespace(phenol_ppm=60.0)
    parts: Any = SimpleNamespace(draws=draws, liquids=liquids)
    db: Any = None
    assert flights_by_class(db, planned(), parts) == 3
    assert flights_by_class(db, planned(duplicates=("auto",)), parts) == 3
    assert flights_by_class(db, planned(duplicates=("auto", "D1")), parts) == 5
    assert flights_by_class(db, planned(replicates=2), parts) == 6
    assert [is_unpeated(parts, each) for each in draws] == [True] * 5 + [False] * 2
    liquids[0].phenol_ppm = None
    assert draw_class(parts, draws[0]) == draw_class(parts, draws[1])
    unknown: Any = SimpleNamespace(id=99)
    assert draw_class(parts, unknown) == 0


FANO: list[tuple[int, ...]] = [
    (0, 1, 2),
    (0, 3, 4),
    (0, 5, 6),
    (1, 3, 5),
    (1, 4, 6),
    (2, 3, 6),
    (2, 4, 5),
]


def on_trays(samples: int, rows: list[tuple[int, ...]]) -> np.ndarray[Any, Any]:
    on = np.zeros((samples, len(rows)))
    for column, row in enumerate(rows):
        on[list(row), column] = 1.0
    return on


def test_a_balanced_design_reaches_its_bound_and_is_found() -> None:
    """Seven samples, three on each of seven trays, every pair once: E = t(k-1)/(k(t-1)) = 7/9.

    Cochran & Cox, Experimental Designs, plan 11.7, from memory.
    """
    assert _a_efficiency(on_trays(7, FANO)) == pytest.approx(7.0 / 9.0)
    assert list(efficiency(7, FANO)) == pytest.approx([7.0 / 9.0] * 2)
    found = near_balanced(7, 3, 7, random.Random(3))
    met = [pair for row in found for pair in combinations(sorted(row), 2)]
    assert len(set(met)) == len(met) == 21
    apart: list[tuple[int, ...]] = [(0, 1), (0, 1), (2, 3), (2, 3)]
    assert _a_efficiency(on_trays(4, apart)) == 0.0
    assert not is_connected(4, apart)


@pytest.mark.parametrize(
    ("samples", "each", "assessors", "fits"),
    [(5, 2, 4, True), (5, 2, 3, False), (5, 1, 9, False), (5, 5, 9, False), (5, 4, 2, True)],
)
def test_trays_must_link_all_samples(samples: int, each: int, assessors: int, fits: bool) -> None:
    if not fits:
        with pytest.raises(DesignError):
            near_balanced(samples, each, assessors, random.Random(1))
        return
    rows = near_balanced(samples, each, assessors, random.Random(1))
    assert is_connected(samples, rows)
    assert [len(set(row)) for row in rows] == [each] * assessors


def test_trays_are_filled_with_what_was_served_least() -> None:
    rows = _greedy(6, 2, 6, random.Random(2))
    served = [sum(sample in row for row in rows) for sample in range(6)]
    assert served == [2] * 6
    pairs = [tuple(sorted(row)) for row in rows]
    assert len(set(pairs)) == 6, "no two met twice while others never met"
