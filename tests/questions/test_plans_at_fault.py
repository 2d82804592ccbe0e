"""A plan taken in with figures that no release can have: each release is told by its name."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.store.engine import Store
from panel.store.stock_plans import StoredPlan
from tests.cli.calling import Call
from tests.questions.test_stock_plans import HEAD, planned
from tests.release.conftest import gauged, house, oakpanel, weighed

__all__ = ["gauged", "house", "oakpanel", "planned", "weighed"]


def test_a_strength_that_is_hardly_one_is_asked_about_and_told_by_release(
    planned: Call,
    tmp_path: Path,
) -> None:
    path = tmp_path / "weak.csv"
    rows = "Weak,Fen 2026,2026,Fen,120,6.35,,,parts; over 30\n"
    rows += "Weak,Fen 2027,2027,Fen,120,30,,,parts; over 30\n"
    path.write_text(HEAD + rows, encoding="utf-8")
    assert "is 63.5 meant?" in planned("load", "plans", str(path)).err
    assert planned("load", "plans", str(path), "--sure").code == 0
    said = planned("stock", "plan", "Weak").err
    assert "Release Fen 2026: 6.35 % vol is below the 40 % vol of Scotch whisky" in said
    assert "Release Fen 2027: 30 % vol is below" in said
    assert said.count("check with your excise officer") == 1


def test_an_age_that_no_spirit_has_is_told_by_release_with_the_others(
    planned: Call,
    store: Store,
) -> None:
    with store.write() as db:
        plan = db.query(StoredPlan).filter_by(name="Years").one()
        plan.releases[0].age_years, plan.releases[1].limits = 4640, "casks many"
    said = planned("stock", "plan", "Years").err
    assert "Release Fen 2026: an age statement of 4640 years: no spirit is older" in said
    assert "Release Fen 2027: 'many' is not a number of casks" in said


def test_no_vatting_states_an_age_that_no_spirit_has(planned: Call) -> None:
    for command in (("vat", "Fen"), ("release", "propose", "Old", "--target", "Fen")):
        said = planned(*command, "--bottles", "60", "--age", "4640")
        assert said.code == 1
        assert "no spirit is older than 100 years" in said.err


OFF = "put that rule set out of force with `oakpanel rules set 'Scotch whisky' off`"
ROW = "take that rule set out of its row"


@pytest.mark.parametrize(
    ("in_force", "named", "ways"),
    [(True, "", OFF), (False, "Scotch whisky", ROW), (True, "Scotch whisky", f"{OFF} and {ROW}")],
)
def test_each_way_out_of_a_rule_that_is_named_does_something(
    planned: Call, tmp_path: Path, in_force: bool, named: str, ways: str
) -> None:
    path = tmp_path / "weak.csv"
    path.write_text(f"{HEAD}Weak,Fen 2026,2026,Fen,120,38,,{named},parts; over 30\n", "utf-8")
    assert planned("load", "plans", str(path), "--sure").code == 0
    if not in_force:
        assert planned("rules", "set", "Scotch whisky", "off").code == 0
    said = planned("stock", "plan", "Weak").err
    assert "38 % vol is below the 40 % vol of Scotch whisky" in said
    assert f"Bottle it stronger, or {ways}. " in " ".join(said.split())
    path.write_text(f"{HEAD}Weak,Fen 2026,2026,Fen,120,38,,,parts; over 30\n", "utf-8")
    if ROW in ways:
        assert planned("load", "plans", str(path), "--sure").code == 0
    if OFF in ways:
        assert planned("rules", "set", "Scotch whisky", "off").code == 0
    assert planned("stock", "plan", "Weak").code == 0
