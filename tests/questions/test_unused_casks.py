"""A cask held that the plan does not use: nothing is looked for anew, and nothing moves."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from analysis.stock_plan import StockPlan
from panel.questions import stock_plans
from panel.questions.plan_changes import ReleaseMoved, moves_between
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.words.plan_words import moved_words
from tests.cli.calling import Call
from tests.houses.nosed import NOW
from tests.questions.test_stock_plans import HEAD, ask, planned
from tests.release.conftest import gauged, house, oakpanel, weighed

__all__ = ["gauged", "house", "oakpanel", "planned", "weighed"]


def used_and_not(planned: Call, store: Store) -> tuple[str, str]:
    releases = ask(planned)["releases"]
    assert isinstance(releases, list)
    used = {part["cask"] for each in releases for part in each["mixture"]["parts"]}
    with store.read() as db:
        there = {each.cask for each in filling_states(db, NOW.date())}
    return min(used), min(there - used)


def test_a_cask_that_the_plan_does_not_use_is_told_of_without_a_search(
    planned: Call,
    store: Store,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    used, unused = used_and_not(planned, store)
    searched = []
    solved = stock_plans._solved

    def counted(*args: object, **more: object) -> object:
        searched.append(more.get("change"))
        return solved(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(stock_plans, "_solved", counted)
    for more in ((), ("--anew",)):
        found = ask(planned, "--hold", unused, *more)
        assert (found["unused"], found["moves"], found["moves_known"]) == ([unused], [], True)
        assert found["changed"] == [f"cask {unused} held"]
    assert len(searched) == 2  # the plan as it is recorded, each time
    told = planned("stock", "plan", "Years", "--hold", unused).out
    assert told.startswith(f"With cask {unused} held:\n    The plan does not use {unused}.\n\n")
    both = ask(planned, "--hold", unused, "--hold", used)
    assert both["unused"] == [unused]
    moves = both["moves"]
    assert isinstance(moves, list)
    assert any(used in each["gone"] for each in moves)


def test_a_cask_that_a_release_asks_for_and_does_not_get_is_not_unused(
    planned: Call,
    tmp_path: Path,
) -> None:
    """Held, it stands on both lists of its release, which is refused as before."""
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
    assert planned("release", "propose", "Quay", *taken).code == 0
    path = tmp_path / "with.csv"
    rows = "Had,Fen 2028,2028,Fen,120,46,,,whole; over 90; with C8\n"
    rows += "Had,Fen 2029,2028,Fen,60,46,,,parts; over 60\n"
    path.write_text(HEAD + rows, encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    said = planned("stock", "plan", "Had", "--hold", "C8")
    assert "does not use" not in said.out
    assert "C8" in said.err


def test_a_chance_that_reads_the_same_is_told_as_no_change() -> None:
    def plan(surer: float, *casks: str) -> StockPlan:
        parts = tuple(SimpleNamespace(cask=each, litres=90.0) for each in casks)
        mixture = SimpleNamespace(parts=parts)
        one = SimpleNamespace(
            name="Fen", casks=casks, probability=surer, missing=0.0, mixture=mixture
        )
        given = {"releases": [one], "cut_short": False, "release": lambda _: one}
        found: StockPlan = SimpleNamespace(**given)  # type: ignore[assignment]
        return found

    assert moves_between(plan(0.9851, "a"), plan(0.9949, "a"), anew=False) == []
    (moved,) = moves_between(plan(0.9851, "a"), plan(0.9949, "b"), anew=True)
    assert moved_words(moved) == "Fen: chance .99 as before; a out; b in."
    told = ReleaseMoved("Fen", 0.9849, 0.9949, 0.0, 0.0, (), ())
    assert moved_words(told) == "Fen: chance .98 becomes .99."
