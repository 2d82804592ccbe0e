"""What is said of going on agrees with the glasses that stand below it."""

from __future__ import annotations

import pytest

from analysis.next_glasses.result import Glass, NextSession, Question, Stop, Unit
from analysis.next_glasses.settings import NextSettings
from analysis.next_glasses.stopping import stop_of
from analysis.next_glasses.verdict import cost_sentence, stop_in_short, stop_sentence


def session(loss: float, after: float, stop: Stop) -> NextSession:
    glass = Glass(assessor="A1", cask="C1", sample="D1", value=loss - after, reason=None)  # type: ignore[arg-type]
    return NextSession(
        *(Question.BEST, "Fen", Unit.POINTS, (glass,), (), ("C1",), loss, after, None, None),
        *(stop, (), (), 1, 8, 0),
    )


@pytest.mark.parametrize(
    ("loss", "after", "held", "said"),
    [
        (0.5, 0.4, 9, "Stop nosing and decide"),
        (1.5, 1.2, 9, "Go on nosing: the house stops at 1.00 points."),
        (1.5, 1.48, 9, "to save 0.02 points of the 0.50 points to get there: 10 that each saved"),
        (0.02, 0.019, 2, "this session saves next to nothing: what speaks for it is"),
    ],
)
def test_how_little_going_on_gains_is_said_with_it(
    loss: float, after: float, held: int, said: str
) -> None:
    found = session(loss, after, stop_of(loss, held, NextSettings()))
    words = stop_sentence(found)
    assert said in words
    assert ("wiser" in words) is (after == 1.48)
    assert ("next to nothing" in words) is (held == 2)
    assert ("Going on all the same is expected to save" in cost_sentence(found)) is found.stop.stop


@pytest.mark.parametrize("any_glass", [True, False])
@pytest.mark.parametrize("loss", [None, 0.5, 1.5])
@pytest.mark.parametrize("held", [2, 9])
def test_in_short_it_says_the_same(loss: float | None, held: int, any_glass: bool) -> None:
    stop = stop_of(loss, held, NextSettings(), any_glass=any_glass)
    short, whole = stop_in_short(stop), stop_sentence(session(loss or 0.0, 0.0, stop))
    assert short.startswith("stop nosing") is whole.startswith("Stop nosing") is stop.stop
    assert short[:6] == whole[:6].lower()
