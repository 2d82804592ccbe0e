"""What a release decides by a figure, on either side of it: casks, vat, lines, litres."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from analysis.vatting import LimitKind, Limits
from analysis.vatting.pour import Poured
from panel.errors import ReleaseError
from panel.frames.contents import Held
from panel.kinds import Doubt
from panel.release.against import against_signing
from panel.release.batch import AsBatch, with_recipe
from panel.release.doubts import Doubted, _of_cask, _of_vat
from panel.release.given import (
    CaskGave,
    Given,
    Planned,
    casks_gave,
    impossible,
    read_gave,
    read_given,
)
from panel.release.holding import Lying, _faults
from panel.release.outcome import (
    VatMeasured,
    _bottles,
    _cask_difference,
    _figure,
    _reduced,
    _still_broken,
)
from panel.release.trace import _parts
from panel.store.releases import Release, ReleasePart
from tests.houses.parts import new_filling, new_make

HELD = 100.0


def lying(bulk_l: float = HELD, size_l: float = 200.0, **more: Any) -> Lying:
    state = SimpleNamespace(
        cask="C8", filling_id=1, bulk_l=bulk_l, size_l=size_l, reserved_l=None, promised=()
    )
    state.reserved_whole = False
    vars(state).update(more)
    return Lying(cast(Any, state), ())


def gave(
    litres: float,
    *,
    planned: Planned | None = None,
    empty: bool | None = None,
    least: float = 95.0,
) -> CaskGave:
    (found,) = casks_gave(
        {"C8": Given(litres, 59.0, empty)},
        {"C8": planned} if planned else {},
        {"C8": lying()},
        {1: Held(HELD, least)},
    )
    return found


WHOLE, PART = Planned(100.0, True), Planned(40.0, False)


@pytest.mark.parametrize(
    ("litres", "planned", "said", "emptied", "asked", "written_off"),
    [
        # A cask planned whole is empty from nine tenths of what was planned on.
        (90.0, WHOLE, None, True, False, False),
        (89.9, WHOLE, None, False, True, False),
        (0.0, WHOLE, None, False, False, False),
        (89.9, WHOLE, False, False, False, False),
        (89.9, WHOLE, True, True, False, True),
        # Any other cask is, when it gave the least it may have held, less a rinse of half a litre.
        (94.5, PART, None, True, False, False),
        (94.4, PART, None, False, False, False),
        (94.5, None, None, True, False, False),
        (94.4, None, True, True, False, True),
        (94.5, None, True, True, False, False),
        (94.5, None, False, False, False, False),
    ],
)
def test_when_a_cask_counts_as_empty(
    litres: float,
    planned: Planned | None,
    said: bool | None,
    emptied: bool,
    asked: bool,
    written_off: bool,
) -> None:
    found = gave(litres, planned=planned, empty=said)
    assert (found.emptied, found.asked, found.written_off) == (emptied, asked, written_off)
    assert found.rest_litres == pytest.approx(0.0 if emptied else HELD - litres)


def test_a_planned_whole_cask_that_held_less_is_empty_by_what_it_may_have_held() -> None:
    assert gave(60.0, planned=WHOLE, least=60.5).emptied
    assert gave(59.9, planned=WHOLE, least=60.5).asked


def test_what_a_cask_was_to_give_and_what_it_held() -> None:
    """A cask that was not planned was to give no number, and one without records held nothing."""
    assert [gave(30.0, planned=each).planned_litres for each in (WHOLE, PART, None)] == [
        100,
        40,
        None,
    ]
    (unknown,) = casks_gave({"C9": Given(30.0, 59.0, None)}, {}, {}, {})
    assert (unknown.held_litres, unknown.rest_litres, unknown.planned_litres) == (0.0, 0.0, None)


def test_nothing_is_empty_that_gave_nothing() -> None:
    assert not gave(0.0, least=0.2).emptied


@pytest.mark.parametrize(("litres", "fits"), [(220.0, True), (220.1, False)])
def test_a_tenth_over_its_size_may_come_out_of_a_cask(litres: float, fits: bool) -> None:
    assert (impossible(gave(litres)) is None) is fits


@pytest.mark.parametrize(("litres", "odd"), [(102.5, False), (102.6, True)])
def test_a_cask_that_gave_more_than_its_gauge(litres: float, odd: bool) -> None:
    found = [each.doubt for each in _of_cask(gave(litres))]
    assert found == ([Doubt.CASK_LITRES] if odd else [])


def test_a_rest_and_a_loss_are_doubts_of_their_own() -> None:
    assert kinds(*_of_cask(gave(50.0, planned=WHOLE))) == [Doubt.REST]
    assert kinds(*_of_cask(gave(50.0, planned=WHOLE, empty=True))) == [Doubt.LOSS]
    assert kinds(*_of_cask(gave(50.0, planned=WHOLE, empty=False))) == []


def kinds(*found: Doubted) -> list[Doubt]:
    return [each.doubt for each in found]


def poured(litres: float = 1000.0, abv: float = 58.0) -> Poured:
    return Poured(
        *(litres, abv, litres * abv / 100.0, 0.0, 46.0, 0.0, None, litres, 0, 12, None),
        bottles_low=0,
        bottles_high=0,
        sure_litres=litres,
    )


@pytest.mark.parametrize(
    ("litres", "odd"),
    # A hundredth is the dip's; on the way three hundredths stay behind; half a litre is a rinse.
    [(1010.5, False), (1010.6, True), (959.5, False), (959.4, True)],
)
def test_litres_of_the_vat(litres: float, odd: bool) -> None:
    vat = VatMeasured(litres, 58.0, measured=False, litres_measured=True)
    assert kinds(*_of_vat(poured(), vat)) == ([Doubt.VAT_LITRES] if odd else [])
    assert kinds(*_of_vat(poured(), VatMeasured(litres, 58.0, measured=True))) == []


@pytest.mark.parametrize(("abv", "odd"), [(58.29, False), (58.31, True), (57.69, True)])
def test_strength_of_the_vat(abv: float, odd: bool) -> None:
    found = _of_vat(poured(), VatMeasured(1000.0, abv, measured=True))
    assert kinds(*found) == ([Doubt.VAT_STRENGTH] if odd else [])
    assert kinds(*_of_vat(poured(), VatMeasured(1000.0, abv, measured=False))) == []


def test_a_vat_below_the_bottling_strength_stands_against_the_signature() -> None:
    """It cannot be reduced to what the label says, whatever else is kept in words or by key."""
    (found,) = against_signing({"water_litres": None})
    assert found.key == LimitKind.STRENGTH.value
    assert against_signing({"water_litres": 0.0}) == []


@pytest.mark.parametrize(
    ("abv", "water", "final_abv"), [(46.0, True, 46.0), (45.99, False, 45.99), (58.0, True, 46.0)]
)
def test_a_vat_is_reduced_where_it_is_strong_enough(
    abv: float, water: bool, final_abv: float
) -> None:
    vat = VatMeasured(1000.0, abv, measured=True)
    added, final, found, bottles = _reduced(Limits(bottles=100, abv_percent=46.0), vat)
    assert (added is not None, found) == (water, final_abv)
    assert (final > 1000.0) is (abv > 46.0)
    assert bottles == int(final * 0.985 / 0.7)
    as_it_comes = _reduced(Limits(bottles=100, abv_percent=None), vat)
    assert as_it_comes[:3] == (0.0, 1000.0, abv)


def broken(limits: Limits, bottles: int, final: float) -> list[LimitKind]:
    tried = cast(Any, SimpleNamespace(broken=()))
    return [each.key.kind for each in _still_broken(tried, bottles, final, limits)]


def test_fewer_bottles_or_a_bottle_s_litres_less_than_asked() -> None:
    assert broken(Limits(bottles=500), 500, 0.0) == []
    assert broken(Limits(bottles=500), 499, 0.0) == [LimitKind.QUANTITY]
    assert broken(Limits(litres=350.0), 0, 349.31) == []
    assert broken(Limits(litres=350.0), 0, 349.3) == [LimitKind.QUANTITY]


def test_what_is_told_as_a_difference() -> None:
    assert list(_cask_difference(gave(100.5, planned=WHOLE))) == []
    assert list(_cask_difference(gave(99.5, planned=WHOLE))) == []
    (said,) = _cask_difference(gave(100.6, planned=WHOLE))
    assert said == "Cask C8 gave 100.6 L, planned were 100.0."
    (part,) = _cask_difference(gave(41.0, planned=PART))
    assert part == "Cask C8 gave 41.0 L, planned were 40.0. 59.0 L stay in it."
    assert list(_figure("Bottles:", 500, 500, "", 0.5)) == []
    assert list(_figure("Bottles:", 500, 501, "", 0.5)) == ["Bottles: 501, planned 500 (+1)."]
    assert list(_figure("Bottles:", None, 501, "", 0.5)) == []
    # 360 L less 1.5 % fill 506 bottles of 70 cL; by the gauges 500 were safe to print.
    document = {"final_litres": 360.0, "bottles": 500}
    assert list(_bottles(document, 506, Limits(bottles=500))) == []
    (fewer,) = _bottles(document, 505, Limits(bottles=500))
    assert fewer == "Bottles: 505, planned 506 (-1); 500 were safe to print."
    (known,) = _bottles({"final_litres": 360.0, "bottles": 506}, 505, Limits())
    assert known == "Bottles: 505, planned 506 (-1)."
    (old,) = _bottles({"bottles": 500}, 505, Limits())
    assert old == "Bottles: 505, planned 500 (+5)."
    assert list(_figure("Water to add:", 9.0, None, "L", 0.5)) == []


@pytest.mark.parametrize(
    ("wanted", "more", "words"),
    [
        (100.05, {}, None),
        (100.06, {}, "holds 100.0 L, not 100.1"),
        (60.05, {"reserved_l": 40.0}, None),
        (60.06, {"reserved_l": 40.0, "promised": (("Spring", 40.0),)}, "reserved for Spring"),
        (60.06, {"reserved_l": 40.0}, "for a reservation in the records"),
        (1.0, {"reserved_whole": True}, "reserved as a whole"),
    ],
)
def test_litres_that_are_free(wanted: float, more: dict[str, Any], words: str | None) -> None:
    found = list(_faults(lying(**more).state, (), wanted))
    assert len(found) == (words is not None)
    assert all(words in said for said in found if words)


@pytest.mark.parametrize(
    ("text", "litres", "empty"),
    [("171.2@58.4", 171.2, None), ("60@58.4 keeps", 60.0, False), (" 60@58.4  empty ", 60.0, True)],
)
def test_what_a_cask_gave_is_read(text: str, litres: float, empty: bool | None) -> None:
    assert read_gave(text) == Given(litres, 58.4, empty)
    assert read_given(f"SW=1={text}")[0] == "SW=1"


@pytest.mark.parametrize("text", ["171.2", "a@58", "60@58 dry", "60@", ""])
def test_what_is_no_figure_of_a_cask(text: str) -> None:
    with pytest.raises(ReleaseError):
        read_gave(text)
    with pytest.raises(ReleaseError):
        read_given("171@58")


def before(*parts: tuple[str, float, float | None]) -> Release:
    """A release by wood, litres planned and litres given, all of one make."""
    make = new_make("Sallow plain", 1.0)
    made = [
        ReleasePart(filling=new_filling(f"010{n}", make, wood=wood), litres=litres, given_l=given)
        for n, (wood, litres, given) in enumerate(parts)
    ]
    return Release(name="Spring", parts=made)


@pytest.mark.parametrize(
    ("asked", "shares"),
    [
        (AsBatch("L1-1"), [("oak butt", 0.5, 0.7), ("barrel", 0.3, 0.5), ("Sallow plain", 0.9, 1)]),
        (AsBatch("L1-1", recipe_within=None), []),
    ],
)
def test_shares_of_the_batch_before_may_move_by_a_tenth_unless_said_otherwise(
    asked: AsBatch, shares: list[tuple[str, float, float]]
) -> None:
    """By what was given, where that is known; what gave nothing is no part of the recipe."""
    last = before(("oak butt", 90.0, 60.0), ("barrel", 40.0, None), ("port pipe", 50.0, 0.0))
    found = with_recipe(Limits(litres=100.0), last, asked).shares
    assert [(each.values[0], each.low, each.high) for each in found] == shares


def test_the_parts_of_a_release_are_told_the_largest_first() -> None:
    made = before(("oak butt", 30.0, None), ("barrel", 60.0, None), ("port pipe", 30.0, None))
    assert [each["filling"] for each in _parts(made)] == ["0101/1", "0100/1", "0102/1"]
