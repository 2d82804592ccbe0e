"""A bench blend in steps that can be poured, and the chance of just that."""

from __future__ import annotations

import pytest

from panel.questions.blending import try_litres
from panel.release.recipe import CHANGED, BenchPart, Recipe, bench_recipe, poured_ml, still_so
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.release.test_release import disgorge, propose


@pytest.mark.parametrize(
    ("litres", "poured"), [(24.92, 25.0), (0.1, 0.5), (12.3, 12.5), (12.2, 12.0), (74.7, 74.5)]
)
def test_what_is_poured_goes_in_half_millilitres(litres: float, poured: float) -> None:
    assert poured_ml(litres, 100.0, 100.0) == poured


def test_the_chance_is_of_what_is_poured_not_of_what_was_planned(
    oakpanel: Call, house: Store
) -> None:
    """In 4 mL a step is an eighth: what is poured is another blend than the one planned."""
    from analysis.vatting import Drawing, Limits
    from panel.frames import target_of
    from panel.questions.vatting import house_stock

    propose(oakpanel)
    with house.read() as db:
        recipe = bench_recipe(db, "Spring", volume_ml=4.0, as_of=TODAY)
        exact = bench_recipe(db, "Spring", volume_ml=40_000.0, as_of=TODAY)
        stock = house_stock(db, as_of=TODAY, besides_release="Spring")
        poured = {part.cask: part.millilitres for part in recipe.parts}
        limits = Limits(drawing=Drawing.PART, smallest_draw_litres=0.0)
        tried = try_litres(stock, poured, target_of(db, "Fen"), limits)
    assert recipe.probability == pytest.approx(tried.mixture.probability)
    assert recipe.probability is not None
    assert exact.probability is not None
    assert abs(recipe.probability - exact.probability) > 1e-3


@pytest.mark.slow
@pytest.mark.usefixtures("weighed")
def test_of_a_vat_the_chance_is_told_too(oakpanel: Call, house: Store) -> None:
    disgorge(oakpanel, propose(oakpanel))
    with house.read() as db:
        gone = {state.cask for state in filling_states(db, TODAY) if state.emptied_on}
        recipe = bench_recipe(db, "Spring", volume_ml=100.0, as_of=TODAY)
    assert gone
    assert recipe.reason is None
    said = oakpanel("release", "bench", "Spring").out
    assert "Chance that just this is within the target" in " ".join(said.split())


def test_a_chance_of_other_litres_is_not_told() -> None:
    part = BenchPart("C1", "C1/1", 50.0, 60.0)
    assert still_so(Recipe((part,), 0.8, None), (part,)).probability == 0.8
    assert still_so(Recipe((part,), 0.8, None), ()) == Recipe((), None, CHANGED)
