"""Pictures of people: the lead's and each one's own, never before the reveal."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.agreement import AssessorWord, Drift, DriftPoint, DriftSize, Verdict
from analysis.pictures import Shape, Sign, to_svg
from analysis.pictures.moving import LATEST, PANEL, is_anybody_moving
from analysis.pictures.seen import page_signs
from panel.errors import UnknownRecord, WrongState
from panel.kinds import SessionStatus
from panel.pictures.cells import to_cells
from panel.pictures.people import moving, seen_differently
from panel.questions.agreement import span_agreement
from panel.questions.own_means import own_means
from panel.questions.seen_differently import seen_note
from panel.store.engine import Store
from panel.store.sessions import PanelSession
from tests.cli.calling import Call, caller
from tests.houses.nosed import NOW, build_nosed

NOTE = "ember"


@pytest.fixture
def house(store: Store, kept_before: None) -> Store:
    build_nosed(store)
    return store


def test_every_mark_is_somebodys_mean_under_letters_that_are_no_code(house: Store) -> None:
    with house.read() as db:
        found = seen_note(db, "EV1", NOTE)
        means = own_means(db, "EV1")[NOTE]
        [picture] = seen_differently(db, "EV1", NOTE)
    lettered = {
        (picture.rows[mark.row].name, mark.text): mark.x
        for mark in picture.marks
        if mark.shape is Shape.LETTERS
    }
    assert lettered
    who = {sign: assessor for assessor, sign in found.signs.items()}
    for (sample, sign), value in lettered.items():
        assert value == pytest.approx(means[who[sign]][sample])
    drawn = to_svg(picture) + "\n".join(to_cells(picture))
    assert not [code for code in means if f">{code}<" in drawn or f" {code} " in drawn]


def test_letters_are_drawn_anew_for_each_page_and_the_same_for_the_same_records(
    house: Store,
) -> None:
    with house.read() as db:
        first, again = seen_note(db, "EV1", NOTE), seen_note(db, "EV1", NOTE)
        other, later = seen_note(db, "EV1", "honeycomb"), seen_note(db, "EV2", NOTE)
    assert first.signs == again.signs
    assert len(set(first.signs.values())) == len(first.signs)
    for page in (other, later):
        same = [who for who in first.signs if page.signs.get(who) == first.signs[who]]
        assert len(same) < 2, same
    assert not [s for s in first.signs.values() if s in " ".join(first.signs).casefold()]


def test_forty_people_have_letters_of_their_own() -> None:
    people = [f"P{n}" for n in range(40)]
    signs = page_signs(people, "a page")
    assert len(set(signs.values())) == 40
    assert signs != page_signs(people, "another")


def test_one_person_finds_their_own_letters(house: Store) -> None:
    with house.read() as db:
        found = seen_note(db, "EV1", NOTE)
        own = min(found.signs)
        [picture] = seen_differently(db, "EV1", NOTE, own=own)
        with pytest.raises(UnknownRecord, match="no score"):
            seen_differently(db, "EV1", NOTE, own="nobody")
    strong = [mark for mark in picture.marks if mark.strong]
    assert {mark.text for mark in strong} == {found.signs[own].upper()}
    assert len(strong) == len(picture.rows)
    told = [one for one in picture.legend if own in one.words]
    assert [one.text for one in told] == [found.signs[own].upper()]


def test_nothing_of_it_before_the_reveal(house: Store) -> None:
    with house.write() as db:
        db.query(PanelSession).filter_by(name="EV1").one().status = SessionStatus.CLOSED
    with house.read() as db, pytest.raises(WrongState, match="reveal"):
        seen_differently(db, "EV1", NOTE)


def chart(who: str, *off: float) -> Drift:
    points = tuple(DriftPoint(f"S{at}", None, value, 0.0) for at, value in enumerate(off))
    return Drift(
        assessor=who,
        descriptor=None,
        n_sessions=len(off),
        sd=None,
        average=None,
        limit=None,
        note=None,
        reason="too few",
        points=points,
    )


def test_somebody_called_has_the_date_beside_them() -> None:
    verdict = Verdict(AssessorWord.MOVING_UP, "moved", "look", since="2026-03-01")
    called = replace(chart("AB", 0.0, 8.0), moved=DriftSize(7.6, 5.0, 10.0), verdict=verdict)
    picture = is_anybody_moving([called], None, "")
    assert picture.rows[0].beside == "+8 since 2026-03-01"


def test_the_latest_sessions_stand_apart_from_those_before() -> None:
    people = [chart("AB", 1.0, 0.0, 2.0, 1.0, 7.0, 8.0, 9.0), chart("CD", 1.0)]
    picture = is_anybody_moving(people, None, "")
    assert [row.name for row in picture.rows] == ["AB", "CD"]
    assert picture.rows[0].beside == "now +8, usual +1"
    assert picture.rows[1].beside == "1 session only"
    own = [mark for mark in picture.marks if mark.row == 0]
    full = [mark.x for mark in own if mark.sign is Sign.FULL and mark.shape is Shape.POINT]
    assert full == [7.0, 8.0, 9.0]
    assert len(full) == LATEST
    assert [mark.x for mark in own if mark.shape is Shape.EDGE] == [1.0]


def test_others_see_no_row_of_a_person(house: Store) -> None:
    with house.read() as db:
        span = span_agreement(db, ["EV1", "EV2"])
    [lead] = moving(span)
    who = lead.rows[-1].name
    [own] = moving(span, whose=[who])
    assert moving(span, whose=[]) == ()  # no reference was poured
    assert [row.name for row in own.rows] == [who]
    assert {row.name for row in lead.rows} - {PANEL} == {p.assessor for p in span.assessors}


@pytest.mark.slow
def test_the_command_asks_whose_page_it_is(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from panel.cli import invocation

    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    oakpanel: Call = caller(
        capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD", house=house
    )
    with house.read() as db:
        who = min(seen_note(db, "EV1", NOTE).signs)
    asked = ("agreement", "EV1", "--descriptor", NOTE, "--picture", "-")
    refused = oakpanel(*asked)
    assert refused.code == 2
    assert "--private" in refused.err
    assert "whose page this is" in oakpanel(*asked, "--assessor", who).out
    lead = oakpanel(*asked, "--private")
    assert lead.code == 0, lead.err
    assert f"Who saw {NOTE} differently in EV1?" in lead.out
    both = ("agreement", "EV1", "EV2", "--picture", "-")
    assert oakpanel(*both).code == 1
    assert who in oakpanel(*both, "--assessor", who).out
    assert oakpanel(*both, "--descriptor", NOTE).code == 2
