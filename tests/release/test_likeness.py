"""A target made like a cask or a release asks only what other casks can be held to."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from tests.cli.calling import Call
from tests.houses.nosed import CASKS, LEVELS, add_evening
from tests.houses.parts import descriptor

LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")
BONFIRE = "bonfire"


def rotating(house: Store, on: date, labels: tuple[str, ...]) -> None:
    """An evening on which a note was scored that other evenings have not."""
    with house.write() as db:
        words = db.query(DescriptorVersion).order_by(DescriptorVersion.id).all()
        words.append(descriptor(BONFIRE))
        db.add(words[-1])
        db.flush()
        draws = [db.query(Draw).filter_by(label=label).one() for label in labels]
        known = {cask: (*levels, 50.0) for cask, levels in LEVELS.items()}
        levels = {**known, "Spring-B1": (30.0, 24.0, 44.0, 50.0)}
        add_evening(db, f"EV-{on}", on, draws, words, levels, seed=7)


def made(oakpanel: Call, *asked: str) -> dict[str, Any]:
    found: dict[str, Any] = oakpanel("target", "make", "New", *asked, "--json").document
    return found


def notes(found: dict[str, Any]) -> set[str]:
    return {line["descriptor"] for line in found["lines"]}


@pytest.mark.slow
def test_like_a_release_takes_the_lines_it_was_made_for(oakpanel: Call, house: Store) -> None:
    said = oakpanel("release", "propose", "Spring", "--target", "Fen", *LIMITS)
    assert said.code == 0, said.err
    oakpanel("release", "bench", "Spring")
    rotating(house, date(2026, 2, 1), ("D-C1", "D-C5", "Spring-B1"))
    found = made(oakpanel, "--like-release", "Spring")
    assert notes(found) == {"ember", "smoke at the end", "honeycomb"}
    left = found["left_out"]
    assert [(each["descriptor"], each["reason"]) for each in left] == [
        (BONFIRE, "no line of its own target")
    ]
    assert len(oakpanel("match", "New", "--with-held", "--json").document["casks"]) == len(CASKS)


@pytest.mark.slow
def test_like_a_cask_takes_what_half_of_the_casks_have(oakpanel: Call, house: Store) -> None:
    rotating(house, date(2026, 2, 1), ("D-C1", "D-C5", "D-C6"))
    found = made(oakpanel, "--like-cask", "C5")
    assert notes(found) == {"ember", "smoke at the end", "honeycomb"}
    (left,) = found["left_out"]
    assert left["reason"] == "known of less than half of the nosed casks"
    assert (left["n_casks"], left["n_nosed"]) == (3, 10)
    assert left["aim"] == pytest.approx(50.0, abs=6.0)
    assert len(oakpanel("match", "New", "--json").document["casks"]) == len(CASKS)
    text = " ".join(oakpanel("target", "make", "Two", "--like-cask", "C5").out.split())
    assert "Left out, known of less than half of the nosed casks: bonfire" in text
    assert "(3 of 10 casks)" in text


@pytest.mark.parametrize("asked", [("--more", "bonfire=+5"), ("--only", BONFIRE)])
def test_a_note_that_is_named_is_taken(
    oakpanel: Call, house: Store, asked: tuple[str, ...]
) -> None:
    rotating(house, date(2026, 2, 1), ("D-C1", "D-C5", "D-C6"))
    found = made(oakpanel, "--like-cask", "C5", *asked)
    assert BONFIRE in notes(found)
    assert found["left_out"] == []


@pytest.mark.slow
def test_a_note_that_half_of_the_casks_have_stays(oakpanel: Call, house: Store) -> None:
    rotating(house, date(2026, 2, 1), tuple(f"D-C{number}" for number in range(1, 6)))
    assert BONFIRE in notes(made(oakpanel, "--like-cask", "C5"))


def test_an_aim_that_is_held_to_the_line_says_so(oakpanel: Call) -> None:
    found = made(oakpanel, "--from", "Fen", "--more", "ember=+90")
    assert found["clipped"] == [{"descriptor": "ember", "asked": 120.0, "aim": 100.0}]
    said = oakpanel("target", "make", "Less", "--from", "Fen", "--more", "honeycomb=-60").out
    assert "honeycomb was asked at -16, off the line from 0 to 100: it is 0." in said
    plain = oakpanel("target", "make", "Three", "--from", "Fen", "--more", "ember=+9", "--json")
    assert plain.document["clipped"] == []
