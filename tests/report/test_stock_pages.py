"""Pages of influences, a target and a blend: what stands on each is what the commands say."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.cli.calling import Call
from tests.release.test_vat import add_unnosed
from tests.report.reading import Read
from tests.report.test_commands import fetches_nothing, named, page

FLAGGED = ("--old-gauges", "flag")
ASKED = ("--litres", "350", "--casks", "2-5", *FLAGGED)
BY_HAND = ("--take", "C3=40", "--take", "C4=50,5", "--part")


def read(oakpanel: Call, *words: str) -> Read:
    found = fetches_nothing(Read(page(oakpanel, *words)))
    assert named(found.text) == []
    return found


@pytest.mark.slow
def test_influences_are_told_note_by_note_or_one_in_full(oakpanel: Call) -> None:
    said = oakpanel("influences", "--json").document
    every = read(oakpanel, "influences")
    assert all(note["sentence"] in every.text for note in said["notes"])
    [ember] = [note for note in said["notes"] if note["descriptor"] == "ember"]
    found = read(oakpanel, "influences", "ember")
    assert ember["sentence"] in found.text
    told = [e for e in said["effects"] if e["descriptor"] == "ember" and e["estimate"] is not None]
    for effect in told:
        assert f"{effect['level']}" in found.text
        assert f"{abs(effect['estimate']):.1f}" in found.text
    assert all(part["note"] in found.text for part in said["separation"]["inseparable"])
    assert oakpanel("report", "influences", "embers").code == 1


@pytest.mark.slow
def test_a_target_is_told_with_its_casks(oakpanel: Call) -> None:
    said = oakpanel("match", "Fen", "--json").document
    asked = oakpanel("target", "show", "Fen", "--json").document
    found = read(oakpanel, "target", "Fen")
    assert said["sentence"] in found.text
    for line in asked["lines"]:
        assert f"{line['descriptor']} {line['aim']:g} {line['tolerance']:g}" in found.text
    places = [found.text.index(f"{cask['cask']} ") for cask in said["casks"][:3]]
    assert places == sorted(places)
    assert all(part["reason"] in found.text for part in said["left_out"])
    assert oakpanel("report", "target", "Fens").code == 1


def test_a_vatting_plan_is_told_before_it_is_a_release(oakpanel: Call) -> None:
    said = oakpanel("vat", "Fen", *ASKED, "--json").document
    found = read(oakpanel, "blend", "Fen", *ASKED)
    assert said["sentence"] in found.text
    assert said["next_action"][1:] in found.text
    for part in said["parts"]:
        assert f"{part['cask']} {part['litres']:.1f} {part['abv_percent']:.1f}" in found.text
    for line in said["prediction"]:
        assert f"{line['descriptor']} {line['aim']:g} {line['tolerance']:g}" in found.text
    assert all(price["sentence"] in found.text for price in said["prices"])
    assert "it is no release yet" in found.text
    assert oakpanel("release", "list", "--json").document["releases"] == []


@pytest.mark.slow
def test_no_vatting_is_told_with_what_to_loosen(oakpanel: Call) -> None:
    asked = (*ASKED, "--share", "make=Sallow plain:0.9-1")
    said = oakpanel("vat", "Fen", *asked, "--json").document
    found = read(oakpanel, "blend", "Fen", *asked)
    assert said["found"] is False
    assert said["sentence"] in found.text
    assert "Loosen one of the limits" in found.text


def test_litres_put_together_by_hand_are_told_with_every_limit_they_break(oakpanel: Call) -> None:
    found = read(oakpanel, "blend", "Fen", *ASKED, *BY_HAND)
    assert "Not every limit is kept" in found.text
    assert "Put together by hand: 2 casks give" in found.text
    assert "Next Change casks or litres until every limit is kept." in found.text
    assert "C3 40.0" in found.text
    assert "C4 50.5" in found.text
    few = ("--litres", "90", "--over", "60", *FLAGGED)
    kept = read(oakpanel, "blend", "Fen", *few, *BY_HAND)
    assert "Every limit is kept" in kept.text


@pytest.mark.slow
def test_what_nobody_nosed_is_to_be_nosed_first(oakpanel: Call, house: Store) -> None:
    add_unnosed(house)
    by_hand = ("--take", "C11=100", "--part", "--with-foretold", *FLAGGED)
    found = read(oakpanel, "blend", "Fen", "--litres", "90", "--over", "80", *by_hand)
    assert "Next Draw and nose cask C11 first: what nobody nosed is not reserved." in found.text


@pytest.mark.parametrize("take", ["C3", "C3=none", "=60", "C3=0"])
def test_what_is_no_cask_with_litres_is_refused(oakpanel: Call, take: str) -> None:
    said = oakpanel("report", "blend", "Fen", "--litres", "100", "--take", take)
    assert said.code == 2
    assert "SW1505=171.2" in said.err
