"""Sheets for a day without a machine: draw list, bottles, labels, mats, and ballots keyed twice."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import SeatTaken, SessionError
from panel.kinds import EventKind, Fault, SessionKind
from panel.report.paper import LABELS, labels_page, mats_page
from panel.session.ballots import ballots
from panel.session.blueprint import blueprint_of
from panel.session.bottle_sheet import bottle_sheet
from panel.session.draw_list import draw_list, walked
from panel.session.held_seats import SeatsHeld
from panel.session.keyed import ballot_files, keep_ballots, read_ballots, template, unlike
from panel.session.plan import plan_session
from panel.session.pours import pour_needs
from panel.session.printed_codes import codes_to_print
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reopen_session
from panel.store import booth_queries as booth
from panel.store.casks import FillingEvent
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.finding import find_session as to_find
from panel.store.sessions import FaultMark, Score, Serving
from tests.houses.to_pass import build_to_pass, to_open
from tests.houses.to_plan import HELD_ON, WORDS, furnish, plan

Fill = Callable[[dict[str, str]], dict[str, str] | None]


@pytest.fixture
def passing(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now, casks=23)
    to_open(store, fixed_now)
    return store


def opened(store: Store, now: datetime, **changes: object) -> Store:
    with store.write() as db:
        furnish(db)
    with store.write() as db:
        plan_session(db, plan(**changes), now=now, by="L1")
    for step in (seal_session, open_session):
        with store.write() as db:
            step(db, "spring", now=now, by="L1")
    return store


def keyed(store: Store, name: str, fill: Fill) -> str:
    """Fill in the template of a session as somebody with the ballots before them."""
    with store.read() as db:
        rows = list(csv.DictReader(StringIO(template(db, name))))
    out = StringIO()
    headings = ("assessor", "code", "what", "value")
    written = csv.DictWriter(out, headings, extrasaction="ignore")
    written.writeheader()
    written.writerows(row for row in map(fill, rows) if row is not None)
    return out.getvalue()


def keep(store: Store, name: str, one: str, other: str, now: datetime) -> int:
    first, second = read_ballots(one, "one.csv"), read_ballots(other, "two.csv")
    with store.write() as db:
        return keep_ballots(db, name, first, second, now=now, by="L1").glasses


def one_line(what: str, value: str, template_of: Store) -> str:
    with template_of.read() as db:
        row = next(csv.DictReader(StringIO(template(db, "spring"))))
    return f"assessor,code,what,value\n{row['assessor']},{row['code']},{what},{value}\n"


def test_a_seat_that_a_booth_holds_is_taken_only_by_name(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now)
    text = one_line("bonfire", "40", store)
    lines = read_ballots(text, "one.csv")
    who = lines[0].assessor
    with store.write() as db:
        seat = booth.take_seat(db, "spring", who, now=fixed_now, place="a browser")
    with pytest.raises(SeatsHeld, match=rf"{who} signed in at a booth \(a browser\) at") as said:
        keep(store, "spring", text, text, fixed_now)
    assert f"--take-seat {who}" in str(said.value)
    with store.write() as db:
        booth.tray(db, seat)
        with pytest.raises(SessionError, match="Nothing is keyed of A9"):
            keep_ballots(db, "spring", lines, lines, now=fixed_now, by="L1", take_seats=["A9"])
        keep_ballots(db, "spring", lines, lines, now=fixed_now, by="L1", take_seats=[who])
    with store.read() as db, pytest.raises(SeatTaken, match="from paper"):
        booth.tray(db, seat)


def test_a_seat_that_was_left_is_free_to_key_in(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now)
    text = one_line("bonfire", "40", store)
    with store.write() as db:
        who = read_ballots(text, "one.csv")[0].assessor
        booth.leave_seat(db, booth.take_seat(db, "spring", who, now=fixed_now), fixed_now)
    assert keep(store, "spring", text, text, fixed_now) == 1


def test_a_seat_left_after_the_closing_opens_no_tray_once_it_is_opened_again(
    store: Store, fixed_now: datetime
) -> None:
    opened(store, fixed_now)
    with store.write() as db:
        who = read_ballots(one_line("bonfire", "40", store), "one.csv")[0].assessor
        seat = booth.take_seat(db, "spring", who, now=fixed_now)
        close_session(db, "spring", now=fixed_now, by="L1")
    with store.write() as db:
        booth.leave_seat(db, seat, fixed_now)
        reopen_session(db, "spring", now=fixed_now, by="L1", reason="fire alarm")
    with store.read() as db, pytest.raises(SeatTaken, match=f"{who} left this booth"):
        booth.tray(db, seat)


def test_a_line_keyed_twice_for_a_glass_has_one_value(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now)
    text = one_line("bonfire", "40", store)
    row = text.splitlines()[1]
    other = text + row.removesuffix("40") + "44\n"
    who, code = row.split(",")[:2]
    with pytest.raises(SessionError, match=f"{code} of {who}: bonfire has two values, 40 and 44"):
        keep(store, "spring", other, other, fixed_now)
    alike = text + row + "\n"
    assert keep(store, "spring", alike, alike, fixed_now) == 1


def test_what_a_booth_kept_is_never_written_over(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now)
    with store.read() as db:
        who = next(csv.DictReader(StringIO(template(db, "spring"))))["assessor"]
    with store.write() as db:
        seat = booth.take_seat(db, "spring", who, now=fixed_now)
        glass, lines = booth.tray(db, seat).glasses[0], booth.tray(db, seat).lines
        taken = booth.take_glass(db, seat, glass.code, fixed_now)
        kept = {lines[0].version_id: 45.0, lines[1].version_id: 30.0}
        booth.save_scores(db, seat, taken, kept, fixed_now)
        booth.leave_seat(db, seat, fixed_now)
    rows = [
        f"{who},{glass.code},{line.name},{value}\n"
        for line, value in zip(lines, (0, 34), strict=False)
    ]
    head = "assessor,code,what,value\n"
    with pytest.raises(SessionError) as said:
        keep(store, "spring", head + "".join(rows), head + "".join(rows), fixed_now)
    for words in (
        f"{glass.code} of {who} was kept otherwise",
        f"{lines[0].name} 0, at the booth 45",
        f"{lines[1].name} 34, at the booth 30",
    ):
        assert words in str(said.value)
    alike = f"{head}{who},{glass.code},{lines[0].name},45\n"
    assert keep(store, "spring", alike, alike, fixed_now) == 1
    with store.read() as db:
        assert sorted(db.scalars(select(Score.value))) == [30.0, 45.0]
        left = csv.DictReader(StringIO(template(db, "spring")))
        assert (who, glass.code) not in {(row["assessor"], row["code"]) for row in left}


# ---------------------------------------------------------------------- sheets


@pytest.mark.slow
def test_casks_are_drawn_in_walking_order_and_the_same_of_each(
    passing: Store, fixed_now: datetime
) -> None:
    with passing.write() as db:
        for draw in db.scalars(select(Draw)):
            draw.volume_ml = None
        db.flush()
        found = draw_list(db, "morning", now=fixed_now)
    assert not found.on_shelf
    assert [cask.row for cask in found.casks] == [str(n) for n in range(2, 24)]
    assert len({cask.millilitres for cask in found.casks}) == 1
    assert not any(cask.sample == "D1" for cask in found.casks)
    ((shed, minutes),) = found.sheds
    assert (shed, minutes) == ("Long shed", 10 + 22 * 4)
    text = " ".join("\n".join(found.lines()).split())
    for caution in ("Not alone", "No climbing", "open bung that is not rated"):
        assert caution in text


def test_nobody_walks_for_what_stands_on_the_shelf(passing: Store, fixed_now: datetime) -> None:
    with passing.read() as db:
        found = draw_list(db, "morning", now=fixed_now)
    assert (found.casks, found.minutes, len(found.on_shelf)) == ((), 0, 22)
    assert "Not alone" not in "\n".join(found.lines())
    with passing.write() as db:
        draws = {draw.label: draw for draw in db.scalars(select(Draw))}
        draws["D2"].volume_ml = None  # nobody wrote down how much was drawn
        draws["D3"].volume_ml = 5.0
        draws["D4"].drawn_on = HELD_ON - timedelta(days=400)  # older than the house trusts
        draws["D5"].fate = "destroyed"
        topped, parent = draws["D6"].filling, draws["D7"].filling
        assert topped is not None
        assert parent is not None
        db.add(
            FillingEvent(
                filling_id=topped.id,
                kind=EventKind.TOPPED,
                happened_on=HELD_ON - timedelta(days=15),
                parent_filling_id=parent.id,
                litres=5.0,
            )
        )
        db.flush()
        found = draw_list(db, "morning", now=fixed_now)
    assert [line.sample for line in found.casks] == ["D2", "D3", "D4", "D5", "D6"]
    assert found.minutes == 10 + 5 * 4
    assert {each.sample for each in found.on_shelf} == {f"D{n}" for n in range(7, 24)}
    text = " ".join("\n".join(found.lines()).split())
    assert "On the shelf: 17. Nobody walks for these" in text


def test_what_stands_there_and_does_not_do_is_said_and_the_new_draw_has_its_own_label(
    passing: Store, fixed_now: datetime
) -> None:
    with passing.write() as db:
        draws = {draw.label: draw for draw in db.scalars(select(Draw))}
        draws["D3"].volume_ml = 5.0
        draws["D4"].drawn_on = HELD_ON - timedelta(days=400)
        db.flush()
        found = draw_list(db, "morning", now=fixed_now)
        taken = set(db.scalars(select(Draw.label)))
    short, old = found.casks
    assert short.standing is not None
    assert old.standing is not None
    assert (short.sample, short.standing.left_ml) == ("D3", 5.0)
    assert not {short.goes_under, old.goes_under} & taken
    text = " ".join("\n".join(found.lines()).split())
    assert short.goes_under in text
    assert re.search(
        r"D3, cask \d+: 5 mL stand there; \d+ mL of the \d+ asked for are lacking", text
    )
    assert re.search(r"D4, cask \d+: .* too old to tell what is in the cask", text)
    assert "is a sample of its own" in text


def test_what_is_planted_makes_nobody_walk(store: Store, fixed_now: datetime) -> None:
    """Known-sound spirit (D1) is poured more often here than any cask: by this seed."""
    build_to_pass(store, fixed_now, casks=23)
    to_open(store, fixed_now, seed=14)
    with store.write() as db:
        asked = pour_needs(db, blueprint_of(db, to_find(db, "morning")))
        needs = {n.draw: n.draw_ml or 0.0 for n in asked}
        most = max(
            ml for label, ml in needs.items() if label != "D1" and label.startswith("D") and ml
        )
        assert needs["D1"] > most + 0.5
        for draw in db.scalars(select(Draw).where(Draw.filling_id.is_not(None))):
            draw.volume_ml = most + 0.5
        db.flush()
        found = draw_list(db, "morning", now=fixed_now)
    assert not found.casks


def test_places_sort_as_somebody_walks() -> None:
    assert sorted(["10", "9", "A2", "A10", ""], key=walked) == ["", "9", "10", "A2", "A10"]


@pytest.mark.slow
def test_bottles_are_weighed_in_grams_and_tell_their_codes(
    passing: Store, fixed_now: datetime
) -> None:
    with passing.write() as db:
        text = bottle_sheet(db, "morning", now=fixed_now, by="P1")
        codes = set(db.scalars(select(Serving.code)))
        label = db.scalars(select(Draw.label).where(Draw.label == "D9")).one()
    assert f"\n{label}, cask 4009\n" in text
    found = re.findall(r"spirit ([0-9.]+) g, water ([0-9.]+) g, total ([0-9.]+) g", text)
    assert found
    for spirit, water, total in found:
        assert float(spirit) + float(water) == pytest.approx(float(total), abs=0.11)
    assert codes <= set(re.findall(r"\b[0-9]{3}\b", text))


def test_labels_and_mats_bear_every_code_and_no_key(passing: Store, fixed_now: datetime) -> None:
    with passing.write() as db:
        found = codes_to_print(db, "morning", "glass labels", now=fixed_now, by="L1")
    for sheet, (across, down) in LABELS.items():
        page = labels_page(found, sheet)
        assert page.count('class="label"') == len(found.codes)
        assert page.count("<section") == -(-len(found.codes) // (across * down))
    for page in (labels_page(found, "3x8"), mats_page(found)):
        assert all(f">{one.code}<" in page for one in found.codes)
        assert "4009" not in page
        assert "spike" not in page
        assert "<script" not in page


@pytest.mark.slow
def test_a_ballot_of_passing_is_ticked(passing: Store, fixed_now: datetime) -> None:
    with passing.write() as db:
        text = ballots(db, "morning", now=fixed_now, by="L1")
        codes = db.scalars(select(Serving.code)).all()
    assert text.count("[ ] pass    [ ] hold, fault number") == len(codes)
    assert "1 sulphur, 2 mould or cork" in " ".join(text.split())


# ---------------------------------------------------------------------- keyed twice


def test_passing_is_keyed_in_by_number(passing: Store, fixed_now: datetime) -> None:
    rows: list[str] = []

    def fill(row: dict[str, str]) -> dict[str, str]:
        rows.append(row["code"])
        held = row["code"] == rows[0]
        return {**row, "what": "hold" if held else "pass", "value": " 3\r" if held else ""}

    text = keyed(passing, "morning", fill)
    assert keep(passing, "morning", text, text, fixed_now) == len(rows)
    with passing.read() as db:
        marks = [(mark.fault, mark.serving_id) for mark in db.scalars(select(FaultMark))]
        done = db.scalars(select(Serving).where(Serving.finished_at.is_not(None))).all()
        first = db.scalars(select(Serving.id).where(Serving.code == rows[0])).one()
    assert marks == [(Fault.RUBBER, first)]
    assert len(done) == len(rows)
    with pytest.raises(SessionError, match="was answered already"):
        keep(passing, "morning", text, text, fixed_now)


def test_scores_and_faults_are_keyed_in(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now)
    text = keyed(
        store, "spring", lambda row: {**row, "value": "40"} if row["assessor"] == "A2" else None
    )
    code = text.splitlines()[1].split(",")[1]
    text += f"A2,{code},fault,soapy\n"
    assert keep(store, "spring", text, text, fixed_now) == 9
    with store.read() as db:
        scores = db.scalars(select(Score.value)).all()
        (mark,) = db.scalars(select(FaultMark)).all()
    assert scores == [40.0] * 9 * len(WORDS)
    assert mark.fault is Fault.SOAPY


@pytest.mark.slow
def test_own_words_are_named_on_the_way(store: Store, fixed_now: datetime) -> None:
    opened(store, fixed_now, kind=SessionKind.OWN_WORDS, descriptors=())
    with store.write() as db:
        assert "your own words, one a line" in ballots(db, "spring", now=fixed_now, by="L1")
        assert "what: the word; value: 0 to 100" in template(db, "spring")
    text = keyed(
        store,
        "spring",
        lambda row: {**row, "what": "old jetty", "value": "7"} if row["assessor"] == "A1" else None,
    )
    assert keep(store, "spring", text, text, fixed_now) == 9


@pytest.mark.slow
def test_what_was_keyed_differently_is_told_and_nothing_kept(
    passing: Store, fixed_now: datetime
) -> None:
    one = keyed(passing, "morning", lambda row: {**row, "what": "pass"})
    code = one.splitlines()[1].split(",")[1]
    other = one.replace(f"A1,{code},pass,", f"A1,{code},hold,soapy")
    with pytest.raises(SessionError, match=f"{code} of A1: pass in the first, hold soapy in the"):
        keep(passing, "morning", one, other, fixed_now)
    wrong = one.replace(f"A1,{code},pass,", "A1,111,pass,")
    with pytest.raises(SessionError, match="111 is not on the tray of A1"):
        keep(passing, "morning", wrong, wrong, fixed_now)
    odd = one.replace(f"A1,{code},pass,", f"A1,{code},hold,mildew")
    with pytest.raises(SessionError, match="'mildew' is no fault"):
        keep(passing, "morning", odd, odd, fixed_now)
    bare = one.replace(f"A1,{code},pass,", f"A1,{code},hold,")
    with pytest.raises(SessionError, match="'' is no fault"):
        keep(passing, "morning", bare, bare, fixed_now)
    with passing.read() as db:
        assert "or hold with the number of the fault" in template(db, "morning")
        assert not db.scalars(select(Serving).where(Serving.finished_at.is_not(None))).all()
    assert unlike(read_ballots(one, "a"), read_ballots(one, "b")) == ()


def test_files_that_cannot_be_ballots_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "one.csv"
    path.write_text("assessor,code,value\nA1,417,40\n", encoding="utf-8")
    with pytest.raises(SessionError, match="missing: what"):
        ballot_files(path, tmp_path / "two.csv")
    with pytest.raises(SessionError, match="keyed twice, by two people"):
        ballot_files(path, path)
    path.write_text("assessor,code,what,value\n", encoding="utf-8")
    with pytest.raises(SessionError, match=r"two\.csv cannot be read"):
        ballot_files(path, tmp_path / "two.csv")
    with pytest.raises(SessionError, match="row 2: name the assessor"):
        read_ballots("assessor,code,what,value\n,417,pass,\n", "one.csv")
