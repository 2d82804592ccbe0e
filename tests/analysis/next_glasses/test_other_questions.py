"""A vatting within tolerance, dates, records, and the first session of all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analysis.ageing import NotesOnDay, notes_on_day
from analysis.errors import InputError
from analysis.next_glasses import (
    BLEND,
    Halt,
    Known,
    Record,
    Room,
    Why,
    first_session,
    next_for_ready,
    next_for_record,
    next_for_target,
    next_for_vat,
)
from analysis.next_glasses.blend import BlendWeighing, vat_lines
from analysis.next_glasses.fill import Poured
from analysis.next_glasses.panel import PanelNoise
from analysis.next_glasses.poured import shared_out
from analysis.target import Target, TargetLine
from analysis.vatting import MixingRule
from tests.analysis.next_glasses.houses import DAY, FEN, known_house, made_up

ROOM = Room(dict.fromkeys("ABCD", 4), pool=6)
PARTS = {f"c0{n}": 150.0 for n in range(8)}


@pytest.mark.parametrize(("parts", "ratio"), [(4, 4.0), (8, 10.0), (12, 18.0)])
def test_a_glass_of_the_blend_takes_many_times_what_one_of_a_part_takes(
    parts: int, ratio: float
) -> None:
    """Parts of sd 4, a rule of sd 2, a glass of sd 10: closed forms.

    Of a part ``(s/k)^2 / (s + v)``, of the blend ``(s/k + m)^2 / (s/k + m + v)``.
    """
    states = replace(
        made_up(parts, lines=1).states,
        mean=np.full((parts, 1), 40.0),
        own=np.full((parts, 1, 1), 16.0),
        common=np.zeros(1),
    )
    target = Target("One", (TargetLine("note 0", 44.0, 5.0),))
    lines = replace(vat_lines(states, target, np.ones(parts), MixingRule()), rule=np.array([4.0]))
    one = np.ones((1, 1))
    panel = PanelNoise(("A",), ("note 0",), one, 100.0 * one, np.zeros(1))
    names = [*states.names, BLEND]
    weighing = BlendWeighing(lines, names, panel, np.zeros((parts + 1, 1, 1)))
    left = weighing.variances(np.array([0, parts]))[:, 0, 0]
    before = lines.variance[0]
    of_part, of_blend = before - left
    s, k, m, v = 16.0, parts, 4.0, 100.0
    assert of_part == pytest.approx((s / k) ** 2 / (s + v), rel=1e-4)
    assert of_blend == pytest.approx((s / k + m) ** 2 / (s / k + m + v), rel=1e-4)
    assert of_blend / of_part == pytest.approx(ratio, rel=0.15)


def test_the_blend_is_poured_where_that_says_more() -> None:
    known = known_house()
    near = _near(known)
    found = next_for_vat(known, near, PARTS, ROOM, bottles=1000.0)
    assert found.glasses[0].cask is None
    assert found.glasses[0].reason.why is Why.BLEND
    assert found.expected_loss is not None
    assert 0.0 < (found.expected_loss_after or 0.0) < found.expected_loss
    assert 0.0 < (found.bottles_after or 0.0) < (found.bottles or 0.0) <= 1000.0
    assert {change.cask for change in found.changes} == {BLEND, *PARTS}
    assert all(change.one_glass <= change.crosses + 1e-9 for change in found.changes)
    alone = next_for_vat(known, near, PARTS, ROOM, blend=False)
    assert {glass.cask for glass in alone.glasses} <= set(PARTS)
    assert (alone.saves or 0.0) < (found.saves or 0.0)


def _near(known: Known) -> Target:
    """A target whose first line ends where the vatting is expected to be."""
    rows = [known.stock.position[name] for name in PARTS]
    mean = known.stock.estimate[rows].mean(axis=0)
    ends = zip(known.stock.descriptors, mean.tolist(), (5.0, 15.0), strict=True)
    return Target("Near", tuple(TargetLine(note, at + 5.0, width) for note, at, width in ends))


def test_a_part_that_is_not_there_is_named() -> None:
    with pytest.raises(InputError, match="x9"):
        next_for_vat(known_house(), FEN, {"x9": 100.0}, ROOM)


def test_many_casks_once_tell_more_of_a_record_than_few_often() -> None:
    wood = ["barrel", "hogshead"] * 7
    found = next_for_record(known_house(unnosed=8, wood=wood), Record.WOOD, Room({"A": 6}))
    poured = [glass.cask for glass in found.glasses]
    assert len(set(poured)) == 6
    assert set(poured) <= {f"c{n:02}" for n in range(6, 14)}
    assert {glass.reason.level for glass in found.glasses} == {"barrel", "hogshead"}
    assert 0.0 < (found.saves or 0.0) < (found.expected_loss or 0.0)


def test_a_record_of_one_level_is_nothing_to_compare() -> None:
    with pytest.raises(InputError, match="fewer than two levels"):
        next_for_record(known_house(wood="barrel"), Record.WOOD, ROOM)


@pytest.fixture(scope="module")
def moving() -> tuple[Known, NotesOnDay]:
    """Casks nosed a year ago that go on from there, without a model of ageing."""
    known = known_house(unnosed=0)
    about = known.stock.casks[["cask", "filling", "age_years"]].assign(
        sample=lambda rows: rows["cask"], wood="barrel", fill_number=1, make="Low",
        phenol_ppm=1.0, fill_abv=63.5, drawn_on=pd.Series(pd.NaT, index=known.stock.casks.index),
    )  # fmt: skip
    notes = notes_on_day(known.profile, about.assign(age_years=7.8), about, DAY)
    return known, notes


def test_dates_are_looked_at_where_they_are_not_known(moving: tuple[Known, NotesOnDay]) -> None:
    known, notes = moving
    found = next_for_ready(known, FEN, notes, ROOM)
    assert found.unit.value == "years"
    assert len(found.glasses) == 16
    loss, after = found.expected_loss, found.expected_loss_after
    assert loss is not None
    assert after is not None
    assert 0.0 < after < loss
    wide = {one.cask: one.reason.off_sd or 0.0 for one in found.casks}
    assert min(wide.values()) > 0.0
    assert all(glass.value >= 0.0 for glass in found.glasses)


def test_a_line_without_a_curve_is_named(moving: tuple[Known, NotesOnDay]) -> None:
    known, notes = moving
    with pytest.raises(InputError, match="wax"):
        next_for_ready(known, Target("Wax", (TargetLine("wax", 20.0, 5.0),)), notes, ROOM)


def test_the_first_session_is_spread_evenly() -> None:
    casks = pd.DataFrame({"cask": [f"c{n:02}" for n in range(60)], "wood": ["b", "h"] * 30})
    casks = casks.assign(filling=casks["cask"], status=["on hold"] + ["filled"] * 59)
    found = first_session(casks, Room(dict.fromkeys("ABCDEFGH", 6)))
    poured = [glass.cask for glass in found.glasses]
    counts = [poured.count(one.cask) for one in found.casks]
    assert len(found.casks) == 8
    assert max(counts) - min(counts) <= 1
    woods = casks.set_index("cask").loc[[one.cask for one in found.casks], "wood"]
    assert woods.value_counts().to_dict() == {"b": 4, "h": 4}
    assert found.stop.halt is Halt.TOO_EARLY
    assert found.expected_loss is None
    each = {(glass.assessor, glass.cask) for glass in found.glasses}
    assert len(each) == len(found.glasses) == 48


def test_what_glasses_and_casks_are_worth_adds_up_to_what_the_session_saves(
    moving: tuple[Known, NotesOnDay],
) -> None:
    known, wood = known_house(), ["barrel", "hogshead"] * 7
    sessions = [
        next_for_target(known, FEN, 3, ROOM),
        next_for_target(known, FEN, 10, ROOM),
        next_for_vat(known, _near(known), PARTS, ROOM),
        next_for_ready(moving[0], FEN, moving[1], ROOM),
        next_for_record(known_house(unnosed=8, wood=wood), Record.WOOD, ROOM),
    ]
    for found in sessions:
        each = sum(glass.value for glass in found.glasses)
        assert each == pytest.approx(found.saves, abs=1e-12)
        assert sum(one.value for one in found.casks) == pytest.approx(found.saves, abs=1e-12)
        assert min((glass.value for glass in found.glasses), default=0.0) >= 0.0
    assert min(sessions[0].saves or 0.0, sessions[2].saves or 0.0) > 0.0


def test_shares_go_by_what_was_added_and_are_equal_where_nothing_was() -> None:
    poured = [Poured(0, 0, 3.0), Poured(1, 0, 1.0), Poured(2, 0, -1e-9)]
    assert shared_out(poured, 0.2).tolist() == pytest.approx([0.15, 0.05, 0.0])
    nothing = [replace(one, value=0.0) for one in poured]
    assert shared_out(nothing, 0.3).tolist() == pytest.approx([0.1, 0.1, 0.1])
    assert shared_out([], 0.3).tolist() == []


def test_how_long_ago_a_cask_was_nosed_is_told_from_the_day_it_is_asked() -> None:
    """A stock of the day of bottling: half a year on, the last nosing is as long ago as today."""
    known = known_house()
    later = replace(known, said_on=DAY - timedelta(days=183))
    since = (DAY - date(2030, 3, 1)).days / 365.25
    for asked, years in ((known, since), (later, since - 183 / 365.25)):
        reasons = [glass.reason for glass in next_for_vat(asked, FEN, PARTS, ROOM).glasses]
        told = [reason.years_since for reason in reasons if reason.n_glasses]
        assert told == [pytest.approx(years)] * len(told) != []
