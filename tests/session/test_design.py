from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panel.errors import PlanRefused
from panel.kinds import GlassKind
from panel.session.codes import clash
from panel.session.design import (
    Design,
    DesignOrder,
    PlannedGlass,
    design_session,
    flights_needed,
    reference_classes,
)
from panel.session.orders import peat_class
from tests.examples import examples

PPM = (0.0, 1.0, 8.0, 20.0, 45.0)


def glasses(peat: list[float], references: int, *, warm_up: bool = True) -> list[PlannedGlass]:
    tests = [PlannedGlass(i, GlassKind.TEST, 1, ppm) for i, ppm in enumerate(peat, start=1)]
    tests += [PlannedGlass(900, GlassKind.REFERENCE, r, 0.0) for r in range(1, references + 1)]
    return tests + [PlannedGlass(901, GlassKind.WARM_UP, 1, 0.0)] * warm_up


@st.composite
def evenings(draw: st.DrawFn) -> tuple[int, list[PlannedGlass], DesignOrder]:
    peat = draw(st.lists(st.sampled_from(PPM), min_size=1, max_size=14))
    assessors = draw(st.integers(2, 7))
    flights = flights_needed(len(peat), reference=True, glasses_a_flight=8)
    order = DesignOrder(assessors, 8, codes_per_assessor=draw(st.booleans()))
    return draw(st.integers(0, 2**128 - 1)), glasses(peat, flights), order


def flat(design: Design, assessor: int) -> list[int]:
    return [glass for row in design.trays[assessor] for glass in row]


@pytest.mark.slow
@settings(max_examples=examples(25), deadline=None)
@given(evenings())
def test_everybody_noses_every_glass_once_and_smoke_rises_in_each_flight(
    evening: tuple[int, list[PlannedGlass], DesignOrder],
) -> None:
    seed, poured, order = evening
    design = design_session(seed, poured, order)
    served = [i for i, glass in enumerate(poured) if glass.kind is not GlassKind.WARM_UP]
    for assessor in range(order.assessors):
        assert sorted(flat(design, assessor)) == served
        for row in design.trays[assessor]:
            tests = [poured[i] for i in row if poured[i].kind is GlassKind.TEST]
            smoke = [peat_class(glass.phenol_ppm) for glass in tests]
            assert smoke == sorted(smoke)
            assert sum(poured[i].kind is GlassKind.REFERENCE for i in row) == 1


@pytest.mark.slow
@settings(max_examples=examples(15), deadline=None)
@given(evenings())
def test_the_same_seed_gives_the_same_evening_and_another_one_another(
    evening: tuple[int, list[PlannedGlass], DesignOrder],
) -> None:
    seed, poured, order = evening
    assert design_session(seed, poured, order) == design_session(seed, poured, order)
    assert (
        design_session(seed, poured, order).codes != design_session(seed ^ 1, poured, order).codes
    )


@settings(max_examples=examples(15), deadline=None)
@given(evenings(), st.randoms(use_true_random=False))
def test_trays_and_codes_do_not_hang_on_which_draw_is_which(
    evening: tuple[int, list[PlannedGlass], DesignOrder], rng: object
) -> None:
    seed, poured, order = evening
    renamed = [PlannedGlass(5000 - g.draw_id, g.kind, g.replicate, g.phenol_ppm) for g in poured]
    one, other = design_session(seed, poured, order), design_session(seed, renamed, order)
    assert (one.trays, one.codes) == (other.trays, other.codes)


@settings(max_examples=examples(15), deadline=None)
@given(evenings())
def test_codes_of_a_tray_keep_their_distance(
    evening: tuple[int, list[PlannedGlass], DesignOrder],
) -> None:
    design = design_session(*evening)
    for codes in design.codes:
        assert not any(clash(a, b) for i, a in enumerate(codes) for b in codes[:i])


def test_a_code_says_nothing_of_casks_strengths_and_ages() -> None:
    avoid = frozenset({"345", "528"})
    for seed in range(40):
        order = DesignOrder(4, 8, avoid=avoid)
        design = design_session(seed, glasses([1.0] * 7, 1), order)
        assert not avoid & set(design.codes[0])


def test_a_reference_stands_in_the_first_class_and_not_always_in_one_place() -> None:
    design = design_session(3, glasses([40.0] * 4 + [1.0] * 3, 1), DesignOrder(8, 8))
    reference = next(i for i, g in enumerate(design.glasses) if g.kind is GlassKind.REFERENCE)
    places = [flat(design, assessor).index(reference) for assessor in range(8)]
    assert set(places) == {0, 1, 2, 3}


def classes(served: list[PlannedGlass]) -> list[int]:
    return reference_classes(served, DesignOrder(1, 8).ranks(served))


def test_a_reference_among_smoky_glasses_only_does_not_always_come_first() -> None:
    smoky = [PlannedGlass(i, GlassKind.TEST, 1, 40.0) for i in range(4)]
    reference = PlannedGlass(9, GlassKind.REFERENCE, 1, 0.5)
    assert len(set(classes([*smoky, reference]))) == 1


def test_a_smokier_reference_never_precedes_unpeated_glasses() -> None:
    light = [PlannedGlass(i, GlassKind.TEST, 1, 1.0) for i in range(4)]
    assert classes([*light, PlannedGlass(9, GlassKind.REFERENCE, 1, 35.0)])[-1] == 3


@pytest.mark.slow
def test_two_flights_are_split_differently_and_each_has_a_reference() -> None:
    design = design_session(11, glasses([1.0] * 12, 2), DesignOrder(8, 8))
    assert design.flights == 2
    first = Counter(frozenset(tray[0]) for tray in design.trays)
    assert max(first.values()) <= 2
    references = {i for i, g in enumerate(design.glasses) if g.kind is GlassKind.REFERENCE}
    firsts = {next(iter(references & set(tray[0]))) for tray in design.trays}
    assert firsts == references, "the code of a reference must not tell its flight"


def test_one_assessor_cannot_link_two_flights() -> None:
    with pytest.raises(PlanRefused, match="one assessor"):
        design_session(1, glasses([1.0] * 12, 2), DesignOrder(1, 8))


@pytest.mark.parametrize(
    ("tests", "reference", "flights"), [(7, True, 1), (8, True, 2), (8, False, 1), (15, True, 3)]
)
def test_flights_are_as_few_as_hold_the_glasses(tests: int, reference: bool, flights: int) -> None:
    assert flights_needed(tests, reference=reference, glasses_a_flight=8) == flights
