"""Nobody comes, everything is chosen, nothing may be: no figure breaks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.bars import FillingFacts, bars_of
from analysis.errors import InputError
from analysis.next_glasses import Room, next_for_target, next_for_vat
from analysis.target import TargetLine
from tests.analysis.next_glasses.houses import FEN, known_house

ROOM = Room(dict.fromkeys("ABCD", 4), pool=6)


@pytest.mark.parametrize("k", [10, 14, 40])
def test_more_wanted_than_there_are(k: int) -> None:
    found = next_for_target(known_house(), FEN, k, ROOM)
    assert len(found.chosen) == 10
    assert found.expected_loss is not None
    assert np.isfinite(found.expected_loss)
    assert all(np.isfinite(glass.value) for glass in found.glasses)


def test_nobody_comes() -> None:
    known = known_house()
    for room in (Room({}), Room({"A": 0})):
        found = next_for_target(known, FEN, 3, room)
        assert found.glasses == ()
        assert found.saves == 0.0
        assert {change.one_glass for change in found.changes} == {0.0}
        assert next_for_vat(known, FEN, {"c00": 100.0}, room).glasses == ()


def test_somebody_new_reads_as_the_typical_person() -> None:
    known = known_house()
    panel = known.panel(["A", "new"], ["plum"])
    assert panel.scale[1, 0] == 1.0
    assert panel.noise[1, 0] == pytest.approx(known.profile.fit("plum").residual)


def test_nothing_may_be_chosen() -> None:
    hold = bars_of(FillingFacts(180.0, 59.0, on_hold=True))
    found = next_for_target(known_house(bars=[hold] * 14), FEN, 3, ROOM)
    assert (found.chosen, found.glasses, len(found.left_out)) == ((), (), 14)


def test_a_note_that_no_cask_has_an_estimate_of_is_named() -> None:
    wax = TargetLine("wax", 20.0, 5.0)
    with pytest.raises(InputError, match="Nothing is known of wax"):
        next_for_target(known_house(), replace(FEN, lines=(*FEN.lines, wax)), 3, ROOM)
    with pytest.raises(InputError, match="Nothing is known of wax"):
        next_for_vat(known_house(), replace(FEN, lines=(wax,)), {"c00": 100.0}, ROOM)
