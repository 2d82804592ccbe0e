"""What a cask did not give stays in it; figures that cannot be right ask for a reason."""

from __future__ import annotations

import json
from typing import Any

import pytest

from panel.kinds import EventKind
from panel.store.casks import FillingEvent
from panel.store.engine import Store
from panel.store.filling_states import FillingState, filling_states
from panel.store.releases import Release
from tests.cli.calling import Call, Said
from tests.houses.nosed import TODAY
from tests.release.signing import UNNOSED, besides

pytestmark = pytest.mark.usefixtures("weighed")
HELD = {"C8": 116.8, "C9": 128.8, "C10": 140.8}
"""What lies in three casks of the house: filled, less 200 mL drawn."""


@pytest.fixture
def proposed(oakpanel: Call) -> Call:
    """Propose two casks whole and 60 L of a third."""
    said = oakpanel(
        *("release", "propose", "Spring", "--target", "Fen", "--take", "C8=116.8"),
        *("--take", "C9=128.8", "--take", "C10=60", "--old-gauges", "flag", "--json"),
    )
    assert said.code == 0, said.err
    whole = {part["cask"]: part["whole"] for part in said.document["parts"]}
    assert whole == {"C8": True, "C9": True, "C10": False}
    return oakpanel


def disgorge(oakpanel: Call, gave: dict[str, float], *more: str) -> Said:
    given = [word for cask, litres in gave.items() for word in ("--cask", f"{cask}={litres}@59.0")]
    return oakpanel("release", "disgorge", "Spring", *given, *more, "--json")


def sign(oakpanel: Call, *more: str) -> Said:
    return oakpanel("--by", "LD", "release", "sign", "Spring", *more)


def against(oakpanel: Call) -> list[str]:
    found = oakpanel("release", "show", "Spring", "--json").document["against"]
    return besides(found)


def lying(house: Store, cask: str) -> FillingState:
    with house.read() as db:
        return next(state for state in filling_states(db, TODAY) if state.cask == cask)


@pytest.mark.slow
def test_a_cask_that_gave_nothing_stays_and_is_free(proposed: Call, house: Store) -> None:
    said = disgorge(proposed, {"C8": 0.0, "C9": 126.0, "C10": 60.0})
    assert said.code == 0, said.err
    assert (
        "Cask C8 gave nothing, planned were 116.8 L. 116.8 L stay in it."
        in said.document["differences"]
    )
    state = lying(house, "C8")
    assert (state.emptied_on, state.reserved_l) == (None, None)
    assert state.bulk_l == pytest.approx(116.8)
    assert sign(proposed, *UNNOSED).code == 0
    assert proposed("release", "bottle", "Spring").code == 0
    assert lying(house, "C8").emptied_on is None
    assert lying(house, "C9").emptied_on == TODAY
    with house.read() as db:
        emptied = db.query(FillingEvent).filter_by(kind=EventKind.EMPTIED).all()
        assert [event.filling.cask.number for event in emptied] == ["C9"]
    again = proposed("release", "propose", "Summer", "--target", "Fen", "--take", "C8=100")
    assert again.code == 0, again.err


@pytest.mark.slow
def test_a_rest_stays_until_somebody_says_that_the_cask_is_empty(
    proposed: Call, house: Store
) -> None:
    gave = {"C8": 116.0, "C9": 40.0, "C10": 60.0}
    found = disgorge(proposed, gave).document
    rest = next(each for each in found["casks"] if each["cask"] == "C9")
    assert (rest["emptied"], rest["asked"]) == (False, True)
    assert rest["rest_litres"] == pytest.approx(88.8)
    assert lying(house, "C9").bulk_l == pytest.approx(88.8)
    assert against(proposed) == ["rest in a cask"]
    assert "--empty C9" in sign(proposed).err
    assert disgorge(proposed, gave, "--keeps", "C9").code == 0
    assert lying(house, "C9").bulk_l == pytest.approx(88.8)
    assert against(proposed) == []
    assert disgorge(proposed, gave, "--empty", "C9").code == 0
    assert lying(house, "C9").emptied_on == TODAY
    assert against(proposed) == ["rest written off"]
    assert "88.8 L are written off" in sign(proposed).err


@pytest.mark.slow
@pytest.mark.parametrize(("litres", "empty"), [(116.0, True), (115.8, False)])
def test_nine_tenths_of_a_cask_planned_whole_are_all_of_it(
    proposed: Call, house: Store, litres: float, *, empty: bool
) -> None:
    disgorge(proposed, {"C8": 116.0, "C9": litres, "C10": 60.0})
    assert (lying(house, "C9").emptied_on is not None) is empty
    assert against(proposed) == ([] if empty else ["rest in a cask"])


def test_a_part_that_gave_all_is_emptied(proposed: Call, house: Store) -> None:
    found = disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 140.8}).document
    assert "Cask C10 gave 140.8 L, planned were 60.0. It is empty." in found["differences"]
    assert lying(house, "C10").emptied_on == TODAY
    shown = proposed("release", "show", "Spring", "--json").document["parts"]
    part = next(each for each in shown if each["cask"] == "C10")
    assert (part["whole"], part["emptied"]) == (False, True)
    disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 60.0})
    assert lying(house, "C10").emptied_on is None, "corrected before it was signed"


@pytest.mark.slow
@pytest.mark.parametrize("how", ["left out", "nothing"])
def test_a_cask_entered_by_a_slip_goes_out_again(proposed: Call, house: Store, how: str) -> None:
    gave = {"C8": 116.0, "C9": 126.0, "C10": 60.0}
    said = disgorge(proposed, {**gave, "C7": 103.8})
    assert (
        "Cask C7 is in it with 103.8 L and was not planned. It is empty."
        in said.document["differences"]
    )
    assert lying(house, "C7").emptied_on == TODAY
    assert disgorge(proposed, gave if how == "left out" else {**gave, "C7": 0.0}).code == 0
    assert lying(house, "C7").bulk_l == pytest.approx(103.8)
    with house.read() as db:
        parts = db.query(Release).one().parts
        assert {part.filling.cask.number for part in parts} == gave.keys()


@pytest.mark.slow
def test_litres_of_a_cask_that_came_in_are_corrected(proposed: Call, house: Store) -> None:
    gave = {"C8": 116.0, "C9": 126.0, "C10": 60.0}
    disgorge(proposed, {**gave, "C7": 103.8})
    assert disgorge(proposed, {**gave, "C7": 50.0}).code == 0
    assert lying(house, "C7").bulk_l == pytest.approx(53.8)
    assert disgorge(proposed, {**gave, "C8": 0.0}).code == 0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("more", "kind"),
    [
        (("--vat-litres", "420"), "litres of the vat"),
        (("--vat-litres", "260"), "litres of the vat"),
        (("--vat-abv", "61"), "strength of the vat"),
    ],
)
def test_a_vat_that_does_not_fit_its_casks_asks_for_a_reason(
    proposed: Call, more: tuple[str, ...], kind: str
) -> None:
    found = disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 60.0}, *more).document
    assert [each["doubt"] for each in found["doubts"]] == [kind]
    assert against(proposed) == [kind]
    refused = sign(proposed)
    assert refused.code == 1
    assert "one of the figures is wrong" in refused.err
    signed = sign(proposed, "--despite", "the vat was dipped again", "--json")
    assert besides(signed.document["against"]) == [kind]


@pytest.mark.slow
@pytest.mark.parametrize("litres", ["301.5", "292"])
def test_what_stays_in_hoses_and_filters_needs_no_reason(proposed: Call, litres: str) -> None:
    disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 60.0}, "--vat-litres", litres)
    assert against(proposed) == []
    assert sign(proposed, *UNNOSED).code == 0


@pytest.mark.slow
def test_a_cask_that_gave_more_than_it_held_asks_for_a_reason(proposed: Call) -> None:
    found = disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 190.0}).document
    assert [(each["doubt"], each["casks"]) for each in found["doubts"]] == [
        ("litres of a cask", ["C10"])
    ]
    assert "gave 190.0 L and held 140.8" in sign(proposed).err


def test_more_than_fits_into_a_cask_is_refused_with_every_other_fault(proposed: Call) -> None:
    said = disgorge(proposed, {"C8": 500.0, "C10": -1.0})
    assert said.code == 1
    for words in ("Cask C8 has a size of 200 L", "Nothing is said of cask C9", "-1 L is not"):
        assert words in said.err
    with_slip = disgorge(proposed, {"C8": 500.0, "C9": 126.0, "C10": 60.0, "C1": 90.0})
    assert "Cask C1 holds 37.8 L, not 90.0." in with_slip.err
    assert "Cask C8 has a size of 200 L" in with_slip.err


@pytest.mark.slow
def test_the_rest_may_be_told_beside_the_figures(proposed: Call) -> None:
    gave = ("--cask", "C8=116@59", "--cask", "C10=60@59", "--cask")
    assert proposed("release", "disgorge", "Spring", *gave, "C9=40@59 keeps").code == 0
    assert against(proposed) == []
    assert proposed("release", "disgorge", "Spring", *gave, "C9=40@59 empty").code == 0
    assert against(proposed) == ["rest written off"]
    assert "litres@strength" in proposed("release", "disgorge", "S", *gave, "C9=40@59 dry").err


@pytest.mark.slow
def test_what_was_kept_before_rests_were_told_empties_no_cask_that_gave_nothing(
    proposed: Call, house: Store
) -> None:
    disgorge(proposed, {"C8": 0.0, "C9": 126.0, "C10": 60.0})
    with house.write() as db:
        release = db.query(Release).one()
        found = json.loads(release.found_json or "{}")
        for name in ("casks", "doubts", "agreed"):
            found.pop(name)
        release.found_json = json.dumps(found)
        for part in release.parts:
            part.whole = part.filling.cask.number in {"C8", "C9"}
    assert sign(proposed, *UNNOSED).code == 0
    assert proposed("release", "bottle", "Spring").code == 0
    assert lying(house, "C8").emptied_on is None
    assert lying(house, "C9").emptied_on == TODAY


def test_what_is_said_of_a_cask_fits_what_it_gave(proposed: Call) -> None:
    gave = {"C8": 116.0, "C9": 40.0, "C10": 60.0}
    assert "Say what cask C7 gave" in disgorge(proposed, gave, "--empty", "C7").err
    both: Any = disgorge(proposed, gave, "--empty", "C9", "--keeps", "C9")
    assert both.code == 2
    assert "not both" in both.err


@pytest.mark.slow
def test_what_is_in_the_vat_cannot_be_given_up(proposed: Call) -> None:
    """A cancelled release would give back casks that are empty."""
    assert disgorge(proposed, {"C8": 116.0, "C9": 126.0, "C10": 60.0}).code == 0
    said = proposed("release", "cancel", "Spring", "--reason", "no bottles to be had")
    assert said.code == 1
    assert "what is in the vat cannot go back" in said.err
    assert sign(proposed, *UNNOSED).code == 0
