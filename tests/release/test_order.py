"""The days of a release stand in their order, and none of them is to come."""

from __future__ import annotations

from datetime import date

import pytest

from panel.kinds import ReleaseStatus
from panel.release.order import lot_day
from panel.store.engine import Store
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.release.signing import UNNOSED
from tests.thinned import some

pytestmark = pytest.mark.usefixtures("gauged")
GAVE = ("--cask", "C8=116@59", "--cask", "C9=60@59")
PLANNED, DISGORGED, SIGNED = "2026-03-02", "2026-03-05", "2026-03-08"


@pytest.fixture
def proposed(oakpanel: Call) -> Call:
    said = oakpanel(
        *("release", "propose", "Spring", "--target", "Fen", "--take", "C8=116.8"),
        *("--take", "C9=60", "--old-gauges", "flag", "--as-of", PLANNED),
    )
    assert said.code == 0, said.err
    return oakpanel


def signed(oakpanel: Call) -> None:
    assert oakpanel("release", "disgorge", "Spring", *GAVE, "--on", DISGORGED).code == 0
    said = oakpanel("--by", "LD", "release", "sign", "Spring", "--on", SIGNED, *UNNOSED)
    assert said.code == 0, said.err


@pytest.mark.parametrize("only_try", some([(), ("--try",)], 2))
@pytest.mark.parametrize(
    ("on", "said"),
    [
        ("2026-03-01", "2026-03-01 is before release Spring was proposed, 2026-03-02."),
        ("2026-03-15", "2026-03-15 is after today, 2026-03-14"),
        ("2009-01-01", "2009-01-01 is before cask C8 was filled, 2013-05-01."),
    ],
)
def test_disgorging_comes_after_the_proposal_and_not_later_than_today(
    proposed: Call, on: str, said: str, only_try: tuple[str, ...]
) -> None:
    refused = proposed("release", "disgorge", "Spring", *GAVE, "--on", on, *only_try)
    assert refused.code == 1
    assert said in refused.err
    also = proposed("release", "disgorge", "Spring", "--cask", "C8=0@59", "--on", on)
    assert said in also.err
    assert "Nothing is said of cask C9" in also.err


def test_it_is_signed_after_it_was_disgorged(proposed: Call, house: Store) -> None:
    proposed("release", "disgorge", "Spring", *GAVE, "--on", DISGORGED, "--vat-abv", "50")
    refused = proposed("--by", "LD", "release", "sign", "Spring", "--on", "2026-03-04")
    assert "before release Spring was disgorged, 2026-03-05" in refused.err
    assert "one of the figures is wrong" in refused.err, "all faults at once"
    assert (
        "after today"
        in proposed("--by", "LD", "release", "sign", "Spring", "--on", "2027-01-01").err
    )
    with house.read() as db:
        assert db.query(Release).one().lot_code is None


def test_it_is_bottled_after_it_was_signed(proposed: Call, house: Store) -> None:
    signed(proposed)
    refused = proposed("release", "bottle", "Spring", "--on", "2009-01-01", "--bottles", "99999")
    for words in (
        "before release Spring was signed, 2026-03-08",
        "before cask C8 was filled, 2013-05-01",
        "at most",
    ):
        assert words in refused.err
    assert "after today" in proposed("release", "bottle", "Spring", "--on", "2026-03-15").err
    assert proposed("release", "bottle", "Spring", "--on", SIGNED).code == 0
    with house.read() as db:
        assert db.query(Release).one().status is ReleaseStatus.BOTTLED


@pytest.mark.slow
def test_a_release_is_neither_proposed_nor_given_up_on_a_day_to_come(proposed: Call) -> None:
    taken = ("--target", "Fen", "--take", "C10=60", "--old-gauges", "flag")
    early = proposed("release", "propose", "Spring", *taken, "--as-of", "2027-03-01")
    assert early.code == 1
    assert "after today" in early.err
    assert "There is a release 'Spring' already" in early.err
    given_up = ("release", "cancel", "Spring", "--reason", "no bottles")
    assert "after today" in proposed(*given_up, "--on", "2026-03-15").err
    assert "was proposed, 2026-03-02" in proposed(*given_up, "--on", "2026-03-01").err
    assert proposed(*given_up).code == 0


@pytest.mark.slow
def test_a_bench_blend_is_mixed_neither_before_the_proposal_nor_on_a_day_to_come(
    proposed: Call,
) -> None:
    bench = ("release", "bench", "Spring", "--ml", "0", "--on")
    early = proposed(*bench, "2026-03-01").err
    assert "was proposed, 2026-03-02" in early
    assert "0 mL" in early
    assert "after today" in proposed(*bench, "2026-03-15").err
    assert proposed("release", "bench", "Spring", "--on", PLANNED).code == 0


@pytest.mark.slow
def test_the_lot_code_tells_the_day(proposed: Call, house: Store) -> None:
    signed(proposed)
    with house.read() as db:
        code = db.query(Release).one().lot_code
    assert code == "L26067-1"
    assert lot_day(code) == date(2026, 3, 8)
    assert lot_day(None) is None
    assert lot_day("a lot of before") is None
