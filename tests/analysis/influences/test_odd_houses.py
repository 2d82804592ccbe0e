"""Small, lopsided and half-recorded houses: an answer or a refusal in words, never a fault."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.ageing import Asked, estimate_ageing
from analysis.errors import TooLittleError
from analysis.influences import Factor, estimate_influences, fit_profile
from analysis.profile import Link
from analysis.target import Target, TargetLine
from panel.words.ageing_words import ageing_lines
from panel.words.influence_words import effect_lines, influence_lines
from tests.houses.casks import Casks, profile_of

TARGET = Target("T", (TargetLine("custard", 30.0, 8.0), TargetLine("slate", 30.0, 8.0)))
WIDTH = 80


def some(rng: np.random.Generator, names: tuple[str, ...]) -> tuple[str, ...]:
    chosen = rng.choice(names, int(rng.integers(1, len(names) + 1)), replace=False)
    return tuple(str(name) for name in chosen)


def marked(seeds: range) -> list[Any]:
    return [pytest.param(seed, marks=pytest.mark.slow) for seed in seeds]


def odd_house(seed: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Draws and readings of a house that is small and differs in little."""
    rng = np.random.default_rng(seed)
    made = Casks(
        n=int(rng.integers(8, 36)),
        woods=some(rng, ("barrel", "butt", "new oak")),
        fills=tuple(int(n) for n in some(rng, ("1", "2", "3"))),
        makes=some(rng, ("Low", "Mid", "High")),
        again=float(rng.choice([0.0, 0.3, 1.0])),
        noise_sd=float(rng.choice([0.05, 3.0, 30.0])),
        ages=((3.0, 15.0), (6.0, 6.01), (0.0, 1.0))[int(rng.integers(3))],
    )
    draws = made.draws(seed)
    readings = made.readings(draws, seed)
    lost = ("warehouse", "batch", "previous")[seed % 3]
    draws[lost] = None
    if seed % 2:
        readings.loc[readings["descriptor"] == "slate", "reading"] = 20.0
        draws.loc[draws.index[:3], "phenol_ppm"] = np.nan
    return draws, readings


@pytest.mark.parametrize("seed", [*range(2), *marked(range(2, 12))])
def test_an_answer_or_a_refusal_in_words(seed: int) -> None:
    draws, readings = odd_house(seed)
    stock = draws.drop_duplicates("filling", keep="last")
    strange = stock.head(2).assign(filling=["q/1", "r/1"], wood=["elm", "barrel"])
    strange["age_years"] = [4.0, 40.0]
    stock = pd.concat([stock, strange]).assign(sample=lambda f: f["filling"])
    profile = profile_of(draws, readings)
    if draws.loc[draws["phenol_ppm"].notna(), "cask"].nunique() < 10:
        with pytest.raises(TooLittleError, match="casks were nosed"):
            estimate_influences(profile, draws, stock=stock)
        return
    found = estimate_influences(profile, draws, stock=stock)
    json.dumps(found.to_dict(), allow_nan=False)
    lines = influence_lines(found)
    for note in found.notes:
        lines += effect_lines(found, note.descriptor)
    for asked in (Asked(), Asked(casks=(str(stock["cask"].iloc[0]),))):
        aged = estimate_ageing(
            *(profile, draws),
            stock=stock,
            as_of=date(2026, 1, 1),
            targets=[TARGET] if asked.casks else [],
            asked=asked,
        )
        json.dumps(aged.to_dict(), allow_nan=False)
        lines += ageing_lines(aged)
    assert max(map(len, lines)) <= WIDTH


def test_too_few_casks_for_want_of_a_common_glass_say_so() -> None:
    """What is missing is not casks but a sample poured in both evenings."""
    made = Casks(n=8, again=0.0)
    draws = made.draws()
    profile = profile_of(draws, made.readings(draws))
    parts = (Link(("S1",), tuple(draws["sample"])), Link(("S2",), ("other",)))
    with pytest.raises(TooLittleError, match="No sample was nosed in two of the 2 sessions"):
        fit_profile(replace(profile, links=parts), draws)


def test_a_house_without_warehouses_says_so_in_words() -> None:
    """The level had no name: "Warehouse: / `: no warehouse only among the casks nosed"."""
    made = Casks(n=40)
    draws = made.draws().assign(warehouse=None)
    found = estimate_influences(profile_of(draws, made.readings(draws)), draws)
    levels = {part.level for part in found.effects if part.factor is Factor.WAREHOUSE}
    assert levels == {"no warehouse"}
    assert not any("`:" in line or line.strip() == ":" for line in effect_lines(found, "custard"))
