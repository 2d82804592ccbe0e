"""The batches of a target beside each other, in a sentence."""

from __future__ import annotations

from datetime import date

from analysis.vatting import NoteBefore
from panel.release.batches import BatchesFound, BatchOfYear
from tests.release.bare import TODAY


def year(lot: str, on: date, smoke: float, plum: float) -> BatchOfYear:
    notes = (NoteBefore("smoke", smoke, 1.0), NoteBefore("plum", plum, 1.0))
    return BatchOfYear(lot, lot, on, "bottled", 100, None, True, notes)


def test_batches_of_the_years_in_a_sentence() -> None:
    bands = {"smoke": (25.0, 35.0), "plum": (15.0, 25.0), "wax": (0.0, 5.0)}
    first = year("L1", date(2023, 1, 1), 20.0, 30.0)
    second, third = year("L2", date(2024, 1, 1), 26.0, 12.0), year("L3", TODAY, 30.0, 20.0)
    assert "No release of Fen" in BatchesFound("Fen", (), bands).sentence
    assert BatchesFound("Fen", (first,), bands).sentence == "One batch of Fen so far, L1."
    assert BatchesFound("Fen", (first, second, third), bands).sentence == (
        "3 batches of Fen since 2023. Furthest apart they lie on plum: 12 (L2) to 30 (L1), "
        "as estimated."
    )
