"""What one person agreed to by name is seen by whoever signs, and needs that person's reason."""

from __future__ import annotations

import pytest

from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.engine import Store
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.houses.parts import add_event
from tests.release.signing import besides
from tests.release.test_barred import LEAKED, filling_of, leak
from tests.thinned import some

BY_HAND = ("--target", "Fen", "--take", "C8=100", "--take", "C9=100", "--old-gauges", "flag")
GAVE = ("--cask", "C8=100@59", "--cask", "C9=100@59")


def barred(house: Store, bar: str) -> str:
    """Bar C8, and return what is said of it."""
    if bar == "leaking":
        leak(house)
        return LEAKED
    if bar == "on hold":
        filling_of(house, "C8", hold_reason="damp cellar")
        return "Cask C8 is on hold: damp cellar."
    filling_of(house, "C8", owner="Mill Trust")
    return "Cask C8 belongs to Mill Trust."


@pytest.mark.parametrize("bar", ["leaking", "on hold", "of another owner"])
@pytest.mark.parametrize("asked", some([("--with", "C8"), ("--with-held",)], 2))
def test_the_signer_sees_it_and_gives_a_reason(
    oakpanel: Call, house: Store, bar: str, asked: tuple[str, ...]
) -> None:
    said = barred(house, bar)
    proposed = oakpanel("release", "propose", "Spring", *BY_HAND, *asked)
    assert proposed.code == 0, proposed.err
    assert f"! Agreed by name: {said}" in proposed.out
    one = [{"cask": "C8", "bar": bar, "sentence": said}]
    assert oakpanel("release", "show", "Spring", "--json").document["agreed"] == one
    assert said in oakpanel("release", "show", "Spring").out
    tried = oakpanel("release", "disgorge", "Spring", *GAVE, "--json")
    assert tried.document["agreed"] == one
    refused = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert refused.code == 1
    assert f"! Agreed by name: {said}" in refused.out
    assert said in refused.err
    signed = oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "seen", "--json")
    assert signed.document["agreed"] == one
    assert besides(signed.document["against"]) == [bar]
    assert signed.document["signed_despite"] == "seen"
    sheet = oakpanel("release", "sheet", "Spring", "--json").document
    assert sheet["agreed"] == [{"bar": bar, "casks": 1}]
    text = " ".join(oakpanel("release", "sheet", "Spring").out.split())
    assert f"In it as agreed by name: 1 cask {bar}." in text
    assert "C8" not in text
    assert "Mill Trust" not in text


@pytest.mark.slow
def test_what_was_agreed_once_stays_said(oakpanel: Call, house: Store) -> None:
    barred(house, "leaking")
    oakpanel("release", "propose", "Spring", *BY_HAND, "--with", "C8")
    with house.write() as db:
        filling = db.query(Filling).filter_by(label="C8/1").one()
        add_event(db, filling, EventKind.REPAIRED, TODAY)
    oakpanel("release", "disgorge", "Spring", *GAVE)
    found = oakpanel("release", "show", "Spring", "--json").document
    assert [each["bar"] for each in found["agreed"]] == ["leaking"]


@pytest.mark.slow
def test_a_cask_that_gave_nothing_needs_no_agreement(oakpanel: Call, house: Store) -> None:
    barred(house, "on hold")
    oakpanel("release", "propose", "Spring", *BY_HAND, "--with-held")
    oakpanel("release", "disgorge", "Spring", "--cask", "C8=0@59", "--cask", "C9=100@59")
    assert oakpanel("release", "show", "Spring", "--json").document["agreed"] == []
    assert oakpanel("--by", "LD", "release", "sign", "Spring").code == 0


@pytest.mark.slow
def test_a_leak_since_the_proposal_was_agreed_to_by_nobody(oakpanel: Call, house: Store) -> None:
    assert oakpanel("release", "propose", "Spring", *BY_HAND).code == 0
    leak(house)
    found = oakpanel("release", "disgorge", "Spring", *GAVE, "--json").document
    assert found["agreed"] == []
    assert [each["doubt"] for each in found["doubts"]] == ["barred since the proposal"]
    assert f"{LEAKED} That was agreed to by nobody." in found["differences"]
    assert LEAKED in oakpanel("--by", "LD", "release", "sign", "Spring").err


@pytest.mark.slow
@pytest.mark.parametrize("bar", ["leaking", "on hold", "of another owner"])
def test_a_trial_is_refused_what_is_not_kept(oakpanel: Call, house: Store, bar: str) -> None:
    said = barred(house, bar)
    hand = ("--target", "Fen", "--take", "C9=100", "--old-gauges", "flag")
    assert oakpanel("release", "propose", "Spring", *hand).code == 0
    for only_try in ((), ("--try",)):
        refused = oakpanel("release", "disgorge", "Spring", *GAVE, *only_try)
        assert refused.code == 1
        assert said in refused.err


@pytest.mark.slow
def test_a_trial_is_refused_litres_that_another_release_has(oakpanel: Call) -> None:
    hand = ("--target", "Fen", "--old-gauges", "flag", "--take")
    assert oakpanel("release", "propose", "Spring", *hand, "C9=100").code == 0
    assert oakpanel("release", "propose", "Summer", *hand, "C8=90").code == 0
    refused = oakpanel("release", "disgorge", "Spring", *GAVE, "--try")
    assert refused.code == 1
    assert "reserved for Summer" in refused.err


@pytest.mark.slow
def test_naming_a_cask_agrees_to_nothing_that_came_later(oakpanel: Call, house: Store) -> None:
    """The page of a release and its disgorging say it alike: of a cask named, and held anew."""
    filling_of(house, "C9", hold_reason="damp cellar")
    proposed = oakpanel("release", "propose", "Spring", *BY_HAND, "--with", "C8", "--with", "C9")
    assert proposed.code == 0, proposed.err
    assert oakpanel("release", "show", "Spring", "--json").document["since"] == []
    leak(house)
    filling_of(house, "C9", hold_reason="sold")
    came = [LEAKED, "Cask C9 is on hold: sold."]
    assert oakpanel("release", "show", "Spring", "--json").document["since"] == came
    found = oakpanel("release", "disgorge", "Spring", *GAVE, "--try", "--json").document
    told = [each["sentence"] for each in found["doubts"]]
    assert told == [f"{said} That was agreed to by nobody." for said in came]
    assert [each["sentence"] for each in found["agreed"]] == ["Cask C9 is on hold: damp cellar."]
