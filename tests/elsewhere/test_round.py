"""Out, nosed there, back and joined: of every kind, and what it leaves in both databases."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import OakpanelError, SessionError, WrongState
from panel.kinds import CallReason, Manner, ServingStatus, SessionKind, SessionStatus
from panel.questions.checked import checked
from panel.session.calls import answer_call
from panel.session.care import other_dose_that_day
from panel.session.elsewhere.bottles import lpa
from panel.session.elsewhere.recalled import PackTold, carried_register, recall_pack, session_away
from panel.session.keyed import KeyedLine, keep_ballots, template
from panel.session.marks import mark_glass
from panel.session.progress import SeatProgress, session_progress
from panel.session.stages import close_session, open_session, reveal_session
from panel.session.stopping import lift_stop
from panel.store import booth_queries as booth
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.examine import Level
from panel.store.key import KeySecret
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.sessions import LeadCall, PanelSession, Serving
from panel.store.site_packs import SitePack
from tests.conftest import FIXED_NOW
from tests.houses.at_another_site import (
    AT,
    HOME_LEAD,
    SITE,
    SITE_LEAD,
    THERE,
    answer_tray,
    build_home,
    joined,
    nosed,
    opened,
    packed,
    returned,
    said,
    seal,
    whole_round,
)
from tests.houses.to_plan import HELD_ON
from tests.thinned import some


@pytest.mark.parametrize("kind", some(SessionKind, 3))
def test_what_is_said_there_stands_at_home_as_if_it_had_been_said_here(
    store: Store, tmp_path: Path, kind: SessionKind
) -> None:
    trip = whole_round(store, tmp_path, kind)
    answer_tray(store, "A1")
    own = said(store, ["A1"])
    done = joined(store, trip.back)
    assert said(store) == said(trip.there)
    assert said(store, ["A1"]) == own
    assert (done.assessors, done.notes) == (THERE, ())
    assert all(seat.finished for seat in session_progress_of(store))
    for each in (store, trip.there) if kind is SessionKind.PROFILE else ():
        assert checked(each, None, seen_anew=False, fits=False).worst is not Level.FAULT
    with store.write() as db:
        close_session(db, "evening", now=AT, by=HOME_LEAD)
    with store.write() as db:
        assert reveal_session(db, "evening", now=AT, by=HOME_LEAD).matches is True
    trip.there.close()


def session_progress_of(store: Store) -> tuple[SeatProgress, ...]:
    with store.read() as db:
        return session_progress(db, "evening").seats


@pytest.mark.parametrize(
    "kind", [SessionKind.PROFILE, SessionKind.PASSING, SessionKind.LIKE_THE_FIRST]
)
def test_neither_the_pack_nor_the_site_knows_a_draw_a_cask_or_a_pin(
    store: Store, tmp_path: Path, kind: SessionKind
) -> None:
    build_home(store, kind, sealed=False)
    with store.write() as db:
        for person in db.scalars(select(Person)):
            person.pin_hash = f"scrypt-sha256$2$8$1$ab$hash-of-{person.code}"
        for draw in db.scalars(select(Draw)):
            draw.label = f"wharf-{draw.label}"
        for filling in db.scalars(select(Filling)):
            filling.label, filling.cask.number = f"stay-{filling.id}", f"SWX{filling.id}"
    seal(store)
    path, _ = packed(store, tmp_path)
    there, _ = opened(tmp_path, path)
    there.close()
    with store.read() as db:
        secret = {"wharf-", "stay-", "SWX", "hash-of", db.scalars(select(KeySecret.seed_hex)).one()}
        codes = {
            code: [glass.code for glass in db.scalars(select(Serving)) if glass.person.code == code]
            for code in ("A1", *THERE)
        }
    for held in (path.read_bytes(), (tmp_path / "there.sqlite").read_bytes()):
        assert [name for name in secret if name.encode() in held] == []
    body = json.loads(path.read_bytes().split(b"\n", 2)[2])
    assert [seat["assessor"] for seat in body["seats"]] == list(THERE)
    for seat in body["seats"]:
        assert sorted(glass["code"] for glass in seat["glasses"]) == sorted(codes[seat["assessor"]])
        assert all(
            set(g) == {"flight", "position", "code", "pouring", "warm_up"} for g in seat["glasses"]
        )


def test_seats_of_one_session_go_to_different_sites(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.PROFILE)
    trips = []
    for who, site in zip(THERE, ("Quayside", "Upper mill"), strict=True):
        path, _ = packed(store, tmp_path, [who], site)
        there, done = opened(tmp_path, path, site)
        assert done.assessors == (who,)
        nosed(there, [who])
        trips.append((there, returned(there, tmp_path, site)[0]))
    with store.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    for there, back in reversed(trips):
        joined(store, back)
        there.close()
    assert {row.state for row in away(store)} == {"joined"}
    assert len(said(store)) == len(said(store, THERE[:1])) + len(said(store, THERE[1:])) - 1


def away(store: Store) -> tuple[PackTold, ...]:
    with store.read() as db:
        return session_away(db, "evening").packs


def test_spirit_stands_in_both_registers_and_the_log_at_home_vouches_for_what_came(
    store: Store, tmp_path: Path
) -> None:
    """9 glasses of 20 mL for two, a tenth lost, at 20 % vol: by hand."""
    trip = whole_round(store, tmp_path, SessionKind.PROFILE)
    done = joined(store, trip.back)
    with store.read() as db:
        here = carried_register(db)
        glasses = len([g for g in db.scalars(select(Serving)) if g.person.code in THERE])
    with trip.there.read() as db:
        assert [(r.moved, r.millilitres, r.on) for r in carried_register(db).amounts] == [
            (r.moved, r.millilitres, r.on) for r in here.amounts
        ]
    sent = glasses * 20 / 0.9
    assert [row.moved for row in here.amounts] == ["sent", "received", "destroyed"]
    assert here.sent_lpa == pytest.approx(sent * 0.20 / 1000)
    assert here.received_lpa == pytest.approx((sent - 5) * 0.20 / 1000)
    with store.read() as db:
        last = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert last is not None
        body, kept = json.loads(last.body_json or ""), json.loads(last.kept_json or "")
    assert (body["return"], body["site_head"]) == (done.return_hash, done.site_head)
    rows = kept["rows"]
    assert len(rows["score"]) > 10
    assert {"serving", "score_change", "session_assessor", "site_pack", "pack_amount"} <= set(rows)
    assert here.destroyed_lpa == done.destroyed_lpa == lpa(20, 20) == pytest.approx(0.004)
    trip.there.close()


def test_a_glass_poured_again_marked_and_called_about_there_comes_back_so(
    store: Store, tmp_path: Path
) -> None:
    build_home(store, SessionKind.PROFILE)
    path, _ = packed(store, tmp_path)
    there, _ = opened(tmp_path, path)
    nosed(there)
    with there.read() as db:
        mine = [g for g in db.scalars(select(Serving)) if g.person.code == "A2" and not g.warm_up]
        again, void = mine[0].code, mine[1].code
    with there.write() as db:
        mark_glass(
            *(db, "evening", "A2", again, ServingStatus.RE_POURED), now=AT, by=SITE_LEAD, note="x"
        )
    with there.write() as db:
        mark_glass(db, "evening", "A2", void, ServingStatus.VOID, now=AT, by=SITE_LEAD)
    with there.write() as db:
        seat = booth.take_seat(db, "evening", "A2", now=AT)
        booth.call_lead(db, seat, CallReason.WATER, AT)
    back, _ = returned(there, tmp_path)
    with store.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    assert joined(store, back).notes
    assert said(store) == said(there)
    assert f"A2 {again} 2" in said(store)
    there.close()


POURED_AGAIN = [
    *((kind, "waits") for kind in SessionKind if kind.facts.in_sets),
    *(
        (kind, then)
        for kind in (SessionKind.STRONGER, SessionKind.RANKING)
        for then in ("answered again", "poured in error")
    ),
]


@pytest.mark.parametrize(("kind", "then"), POURED_AGAIN)
def test_a_set_poured_again_there_after_its_answer_comes_back_as_it_stands(
    store: Store, tmp_path: Path, kind: SessionKind, then: str
) -> None:
    build_home(store, kind)
    pack, _ = packed(store, tmp_path)
    there, _ = opened(tmp_path, pack)
    nosed(there)
    with there.read() as db:
        glasses = db.scalars(select(Serving).order_by(Serving.position)).all()
        again = next(glass.code for glass in glasses if glass.person.code == THERE[0])
    poured = ServingStatus.RE_POURED
    with there.write() as db:
        mark_glass(db, "evening", THERE[0], again, poured, now=AT, by=SITE_LEAD)
    if then == "answered again":
        answer_tray(there, THERE[0], at=AT + timedelta(minutes=5))
    elif then == "poured in error":
        with there.write() as db:
            mark_glass(*(db, "evening", THERE[0], again, ServingStatus.KEPT), now=AT, by=SITE_LEAD)
    back, _ = returned(there, tmp_path)
    with store.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    joined(store, back)
    assert said(store) == said(there)
    there.close()


def test_a_glass_that_is_not_safe_stops_all_there_until_the_lead_has_asked_home(
    store: Store, tmp_path: Path
) -> None:
    build_home(store, SessionKind.PROFILE)
    path, _ = packed(store, tmp_path)
    there, _ = opened(tmp_path, path)
    with there.write() as db:
        open_session(db, "evening", now=AT, by=SITE_LEAD)
    with there.write() as db:
        seat = booth.take_seat(db, "evening", "A2", now=AT)
        code = booth.tray(db, seat).glasses[1].code
        taken = booth.take_glass(db, seat, code, AT)
        call = booth.call_lead(db, seat, CallReason.NOT_SAFE, AT, taken)
    with there.write() as db:
        other = booth.take_seat(db, "evening", "A3", now=AT)
        assert all(glass.stopped for glass in booth.tray(db, other).glasses)
    with there.write() as db:
        (stopped,) = answer_call(db, call, now=AT, by=SITE_LEAD)
    assert "Ask home" in stopped.sentence()
    with there.read() as db:
        codes = {glass.code for glass in booth.tray(db, other).glasses if glass.withdrawn}
    assert codes == {code}
    for who in THERE:
        with there.write() as db:
            booth.take_seat(db, "evening", who, now=AT)
    back, _ = returned(there, tmp_path)
    with store.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    done = joined(store, back)
    assert "Not safe" in done.notes[0]
    with store.read() as db:
        void = {
            g.person.code for g in db.scalars(select(Serving)) if g.status is ServingStatus.VOID
        }
    assert void == {"A1", *THERE}
    with store.write() as db:
        lift_stop(db, "evening", "A2", code, now=AT, by=HOME_LEAD, reason="only a cork")
    there.close()


def test_the_reveal_waits_for_what_is_away_unless_it_is_called_back(
    store: Store, tmp_path: Path
) -> None:
    trip = whole_round(store, tmp_path, SessionKind.STRONGER)
    with store.write() as db:
        close_session(db, "evening", now=AT, by=HOME_LEAD)
    with store.write() as db, pytest.raises(SessionError, match=SITE):
        reveal_session(db, "evening", now=AT, by=HOME_LEAD)
    with trip.there.write() as db, pytest.raises(SessionError, match="came in a pack"):
        reveal_session(db, "evening", now=AT, by=SITE_LEAD, insist=True)
    with store.write() as db:
        recall_pack(db, "evening", SITE, reason="lost in the post", now=AT, by=HOME_LEAD)
    with store.write() as db:
        reveal_session(db, "evening", now=AT, by=HOME_LEAD)
    with pytest.raises(OakpanelError, match=r"lost in the post.*What can still be done"):
        joined(store, trip.back)
    trip.there.close()


def test_it_is_not_opened_there_after_seven_days(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.PROFILE)
    path, made = packed(store, tmp_path)
    there, _ = opened(tmp_path, path)
    assert (made.nose_by - FIXED_NOW.date()).days == 7
    late = made.nose_by.replace(day=made.nose_by.day + 1)
    with there.write() as db, pytest.raises(SessionError, match="within seven days"):
        open_session(db, "evening", now=AT, by=SITE_LEAD, held_on=late)
    there.close()


def test_ethanol_counts_on_the_day_on_which_somebody_sat_there(
    store: Store, tmp_path: Path
) -> None:
    trip = whole_round(store, tmp_path, SessionKind.PROFILE)
    joined(store, trip.back)
    trip.there.close()
    before = HELD_ON - timedelta(days=3)
    with store.write() as db:
        db.scalars(select(PanelSession)).one().manner = Manner.TASTE
        db.scalars(select(SitePack)).one().held_on = before
    with store.read() as db:
        who = {person.code: person.id for person in db.scalars(select(Person))}
        grams = {
            (code, day): other_dose_that_day(db, who[code], day, "another").swallowed_grams > 0
            for code in ("A1", "A2")
            for day in (before, HELD_ON)
        }
    assert [key for key, some in grams.items() if some] == [("A1", HELD_ON), ("A2", before)]


def test_home_wants_it_open_or_closed(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.PROFILE)
    pack, _ = packed(store, tmp_path)
    there, _ = opened(tmp_path, pack)
    nosed(there)
    back, _ = returned(there, tmp_path)
    there.close()
    with pytest.raises(WrongState):
        joined(store, back)
    with store.read() as db:
        assert db.scalars(select(PanelSession.status)).one() is SessionStatus.SEALED
        assert db.scalars(select(LeadCall)).all() == []


def test_what_is_away_is_not_keyed_in_from_paper(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.PROFILE)
    packed(store, tmp_path, ["A2"])
    with store.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    with store.read() as db:
        text = template(db, "evening")
        glass = next(g for g in db.scalars(select(Serving)) if g.person.code == "A2")
    assert "\nA2," not in text
    assert "\nA1," in text
    lines = [KeyedLine("A2", glass.code, "bonfire", "40")]
    with (
        pytest.raises(SessionError, match=r"A2 is away at Quayside: recall it .*leave A2 out"),
        store.write() as db,
    ):
        keep_ballots(db, "evening", lines, lines, now=AT, by=HOME_LEAD)
