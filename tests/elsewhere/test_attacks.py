"""What whoever has a shell at the other site, or the file on its way, can do and what is found."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from panel.errors import OakpanelError, SessionError, UnknownRecord
from panel.kinds import ServingStatus, SessionKind
from panel.session.elsewhere import joining
from panel.session.elsewhere.joining import join_return
from panel.session.elsewhere.opening import open_pack
from panel.session.elsewhere.packing import pack_session
from panel.session.elsewhere.sealed_file import (
    prove_return,
    read_pack,
    read_return,
    return_bytes,
)
from panel.session.elsewhere.values import ReturnBody
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.sessions import Serving, ServingNote
from panel.store.site_packs import SitePack
from panel.store.stops import DrawStop
from panel.store.tables import METADATA
from tests.examples import examples
from tests.houses.at_another_site import (
    AT,
    HOME_LEAD,
    SITE_LEAD,
    Round,
    answer_tray,
    build_home,
    joined,
    packed,
    said,
    whole_round,
)


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes, str]:
    """Give a pack, its return, and the secret under which that is known."""

    folder = tmp_path_factory.mktemp("round")
    home = make_database(str(folder / "home.sqlite"))
    trip = whole_round(home, folder, SessionKind.STRONGER)
    with home.read() as db:
        secret = db.scalars(select(SitePack.secret_hex)).one()
    trip.there.close()
    home.close()
    return trip.pack.read_bytes(), trip.back.read_bytes(), secret


def damaged(whole: bytes, drawn: st.DataObject) -> bytes:
    place = drawn.draw(st.integers(0, len(whole) - 1))
    how = drawn.draw(st.sampled_from(["flip", "cut", "add"]))
    if how == "cut":
        return whole[:place]
    if how == "add":
        return whole[:place] + drawn.draw(st.binary(min_size=1, max_size=3)) + whole[place:]
    bit = drawn.draw(st.integers(0, 7))
    return whole[:place] + bytes([whole[place] ^ (1 << bit)]) + whole[place + 1 :]


@settings(max_examples=examples(100))
@given(drawn=st.data())
def test_a_pack_with_a_byte_changed_is_refused(
    tmp_path_factory: pytest.TempPathFactory, files: tuple[bytes, bytes, str], drawn: st.DataObject
) -> None:
    path = tmp_path_factory.getbasetemp() / "changed.pack"
    changed = damaged(files[0], drawn)
    path.write_bytes(changed)
    if changed == files[0]:  # what was put in at the end was what stood there
        return
    with pytest.raises(SessionError):
        read_pack(path)


@settings(max_examples=examples(100))
@given(drawn=st.data())
def test_a_return_with_a_byte_changed_is_refused(
    tmp_path_factory: pytest.TempPathFactory, files: tuple[bytes, bytes, str], drawn: st.DataObject
) -> None:
    path = tmp_path_factory.getbasetemp() / "changed.return"
    path.write_bytes(damaged(files[1], drawn))
    if path.read_bytes() == files[1]:
        return
    with pytest.raises(SessionError):
        prove_return(read_return(path), files[2])


def counted(store: Store) -> dict[str, int]:
    with store.read() as db:
        return {
            name: db.scalar(select(func.count()).select_from(table)) or 0
            for name, table in METADATA.tables.items()
        }


@pytest.fixture
def trip(store: Store, tmp_path: Path) -> Round:
    made = whole_round(store, tmp_path, SessionKind.PROFILE)
    made.there.close()
    return made


def test_what_was_scored_at_home_is_never_overwritten(store: Store, trip: Round) -> None:
    answer_tray(store, "A2", 7)
    mine, before = said(store, ["A2"]), counted(store)
    with pytest.raises(SessionError, match=r"scored here as well: glass \d{3}") as refused:
        joined(store, trip.back)
    assert str(refused.value).count("\n") == len(mine) - 1
    assert str(refused.value).endswith("be joined, without A2.")
    assert (said(store, ["A2"]), counted(store)) == (mine, before)


def test_a_seat_scored_at_home_as_well_stands_as_it_was_and_the_rest_is_joined(
    store: Store, trip: Round
) -> None:
    there = open_store(str(trip.there.url.database))
    away = said(there, ["A3"])
    there.close()
    answer_tray(store, "A2", 7)
    mine, before = said(store, ["A2"]), counted(store)
    for wrong, told in ((("A2", "A9"), "A9 has no seat"), (("A2", "A3"), "A3 was not scored here")):
        with pytest.raises(SessionError, match=told):
            joined(store, trip.back, wrong)
    assert (said(store, ["A2"]), counted(store)) == (mine, before)
    done = joined(store, trip.back, ("A2",))
    assert (done.assessors, done.glasses) == (("A3",), (len(away) - 2))
    assert "Left as scored here, and not joined: A2." in done.notes
    assert said(store, ["A2"]) == mine
    assert said(store, ["A3"]) == away


def a_stop_at_seat_two(body: dict[str, Any]) -> None:
    glass = body["glasses"][1]
    assert glass["seat"] == 2
    body["stops"] = [
        {
            **{"seat": 2, "code": glass["code"], "pouring": 1, "call": None, "by": "S1"},
            **{"note": "glass", "stopped_at": AT.isoformat(), "lifted_at": None},
            **{"lifted_by": None, "lifted_because": None},
        }
    ]


def test_a_draw_not_safe_there_is_stopped_here_though_its_seat_is_left_out(
    store: Store, trip: Round
) -> None:
    answer_tray(store, "A2", 7)
    forged(store, trip.back, a_stop_at_seat_two)
    done = joined(store, trip.back, ("A2",))
    assert any("stopped" in note for note in done.notes)
    with store.read() as db:
        stop = db.scalars(select(DrawStop)).one()
        assert db.get_one(Serving, stop.serving_id).status is ServingStatus.VOID


Change = Callable[[dict[str, Any]], None]


def other_value(body: dict[str, Any]) -> None:
    body["glasses"][1]["given"][0]["value"] = 101.0


def another_score(body: dict[str, Any]) -> None:
    body["glasses"][1]["given"][0]["value"] = 3.0


def other_line(body: dict[str, Any]) -> None:
    body["glasses"][1]["changes"][0]["line"] = 77


def other_code(body: dict[str, Any]) -> None:
    body["glasses"][1]["code"] = "000"


def no_glass(body: dict[str, Any]) -> None:
    del body["glasses"][1]


def other_seat(body: dict[str, Any]) -> None:
    body["seats"][0]["seat"] = 1


def own_word(body: dict[str, Any]) -> None:
    body["seats"][0]["words"] = [{"place": 1, "word": "tar", "at": AT.isoformat()}]


def other_pack(body: dict[str, Any]) -> None:
    body["pack_hash"] = "0" * 64


def more_destroyed(body: dict[str, Any]) -> None:
    body["destroyed"]["millilitres"] = 1e5


def a_stop_of_nothing(body: dict[str, Any]) -> None:
    body["stops"] = [
        {
            **{"seat": 1, "code": "000", "pouring": 1, "call": None, "by": "x", "note": None},
            **{"stopped_at": AT.isoformat(), "lifted_at": None, "lifted_by": None},
            "lifted_because": None,
        }
    ]


CHANGES: tuple[tuple[Change, str], ...] = (
    (other_value, "101 lies outside line"),
    (other_line, "line 77 is not on the sheet"),
    (other_code, "Glass 000 of seat 2, pouring 1, was never poured"),
    (no_glass, "is not in it"),
    (other_seat, "other seats than the pack"),
    (own_word, "names own words"),
    (other_pack, "answers another pack"),
    (more_destroyed, "More was destroyed there"),
    (a_stop_of_nothing, "A stop is of no glass"),
)


def forged(store: Store, back: Path, *changes: Change) -> None:
    """Write a return as whoever holds the pack can: with its secret, over other contents."""
    with store.read() as db:
        secret = db.scalars(select(SitePack.secret_hex)).one()
    body = prove_return(read_return(back), secret)[0].model_dump(mode="json")
    for change in changes:
        change(body)
    back.write_bytes(return_bytes(ReturnBody.model_validate_json(json.dumps(body)), secret)[0])


def test_a_forged_return_that_fits_no_row_here_is_refused_with_every_fault(
    store: Store, trip: Round
) -> None:
    whole, before = trip.back.read_bytes(), counted(store)
    for change, told in CHANGES:
        trip.back.write_bytes(whole)
        forged(store, trip.back, change)
        with pytest.raises(SessionError, match=told):
            joined(store, trip.back)
    trip.back.write_bytes(whole)
    forged(store, trip.back, other_value, other_line, more_destroyed)
    with pytest.raises(SessionError) as refused:
        joined(store, trip.back)
    for told in ("101 lies outside", "line 77", "More was destroyed"):
        assert told in str(refused.value)
    assert counted(store) == before
    trip.back.write_bytes(whole)
    # Whoever holds the pack can write other scores that fit: the README says so.
    forged(store, trip.back, another_score)
    assert joined(store, trip.back).return_hash
    with store.write() as db:
        db.scalars(select(SitePack)).one().pack_hex = "0" * 32
    with pytest.raises(UnknownRecord):
        joined(store, trip.back)


def two_firsts(body: dict[str, Any]) -> None:
    for glass in body["glasses"]:
        glass["given"][0]["value"] = 1.0


def test_places_that_are_no_answer_to_a_set_are_refused(store: Store, tmp_path: Path) -> None:
    trip = whole_round(store, tmp_path, SessionKind.STRONGER)
    trip.there.close()
    forged(store, trip.back, two_firsts)
    with pytest.raises(SessionError, match="Set 1 of seat 2: these places are no answer to it"):
        joined(store, trip.back)


def between_places(body: dict[str, Any]) -> None:
    for glass in body["glasses"]:
        glass["given"][0]["value"] += 0.5 if glass["given"][0]["value"] == 1.0 else 0.9


def test_places_that_are_no_whole_numbers_are_refused(store: Store, tmp_path: Path) -> None:
    trip = whole_round(store, tmp_path, SessionKind.STRONGER)
    trip.there.close()
    forged(store, trip.back, between_places)
    with pytest.raises(SessionError, match="Set 1 of seat 2: these places are no answer to it"):
        joined(store, trip.back)


def only_firsts(body: dict[str, Any]) -> None:
    for glass in body["glasses"]:
        glass["given"] = [one for one in glass["given"] if one["value"] == 1.0]


def without_the_last(body: dict[str, Any]) -> None:
    last = max(one["value"] for glass in body["glasses"] for one in glass["given"])
    for glass in body["glasses"]:
        glass["given"] = [one for one in glass["given"] if one["value"] < last]


def the_last_taken_out(body: dict[str, Any]) -> None:
    without_the_last(body)
    mark = {"status": "void", "at": AT.isoformat(), "by": "S1", "note": "spilt", "reverses": None}
    for glass in body["glasses"]:
        glass["marks"] = [] if glass["given"] else [mark]


def test_a_ranking_places_every_glass_that_stood_there(store: Store, tmp_path: Path) -> None:
    trip = whole_round(store, tmp_path, SessionKind.RANKING)
    trip.there.close()
    whole = trip.back.read_bytes()
    for change in (only_firsts, without_the_last):
        trip.back.write_bytes(whole)
        forged(store, trip.back, change)
        with pytest.raises(SessionError, match="these places are no answer to it"):
            joined(store, trip.back)
    trip.back.write_bytes(whole)
    forged(store, trip.back, the_last_taken_out)
    assert joined(store, trip.back).glasses


def a_note_that_steers(body: dict[str, Any]) -> None:
    glass = next(each for each in body["glasses"] if each["note"])
    glass["note"]["text"] = "tar\x1b]0;mine\x07 and \u202epeel"


def test_a_note_from_another_site_steers_no_screen(store: Store, trip: Round) -> None:
    forged(store, trip.back, a_note_that_steers)
    joined(store, trip.back)
    with store.read() as db:
        texts = set(db.scalars(select(ServingNote.text)))
    assert "tar]0;mine and peel" in texts
    assert all(text.isprintable() for text in texts)


def test_a_kill_in_the_middle_of_a_join_leaves_nothing_and_no_file_is_taken_twice(
    store: Store, trip: Round, tmp_path: Path
) -> None:
    before, rows = counted(store), said(store)
    store.engine.dispose()
    child = os.fork()
    if child == 0:
        vars(joining)["append_entry"] = lambda *_a, **_k: os._exit(9)
        own = open_store(str(store.url.database))
        with own.write() as db:
            join_return(db, read_return(trip.back), now=AT, by=HOME_LEAD)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    assert (counted(store), said(store)) == (before, rows)
    assert joined(store, trip.back).glasses
    before = counted(store)
    with pytest.raises(SessionError, match="already"):
        joined(store, trip.back)
    there = open_store(str(tmp_path / "there.sqlite"))
    with pytest.raises(SessionError, match="opened here before"), there.write() as db:
        open_pack(db, read_pack(trip.pack), received_ml=1, now=AT, by=SITE_LEAD)
    there.close()
    assert counted(store) == before


def test_a_pack_is_opened_in_no_house(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.RANKING)
    path, _ = packed(store, tmp_path)
    with pytest.raises(SessionError, match="database of its own"), store.write() as db:
        open_pack(db, read_pack(path), received_ml=1, now=AT, by=HOME_LEAD)


def test_everything_that_speaks_against_a_pack_is_said_at_once(store: Store) -> None:
    build_home(store, SessionKind.PROFILE)
    with pytest.raises(OakpanelError) as refused, store.write() as db:
        pack_session(
            *(db, "evening", ["A2", "Nobody"]), site="Quay for 4001 and D2", water="x",
            now=AT, by=HOME_LEAD,
        )  # fmt: skip
    for told in ("Nobody has no seat", "tell that 4001 is", "tell that D2 is"):
        assert told in str(refused.value)


def test_a_pack_is_not_opened_after_its_seven_days(store: Store, tmp_path: Path) -> None:
    build_home(store, SessionKind.PROFILE)
    path, made = packed(store, tmp_path)
    late = AT + timedelta(days=7)
    assert late.date() > made.nose_by

    there = make_database(str(tmp_path / "late.sqlite"))
    with pytest.raises(SessionError, match="new samples"), there.write() as db:
        open_pack(db, read_pack(path), received_ml=1, now=late, by=None, lead=SITE_LEAD)
    there.close()
