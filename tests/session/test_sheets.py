from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from datetime import datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.session.blueprint import blueprint_of
from panel.session.day_sheet import HOLD_ABV, bulks, day_sheet
from panel.session.paper import WIDTH, columns, paragraph, printable
from panel.session.plan import plan_session
from panel.session.pours import pour_needs
from panel.session.seal import seal_session
from panel.session.sheets import pour_sheet, printing_costs, tray_labels
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.log import LogEntry, head_hash
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from tests.houses.to_plan import CODES, plan, sealed_evening


@pytest.fixture
def sealed(house: Store, fixed_now: datetime) -> Store:
    sealed_evening(house, plan(draws=("D1", "D2", "D3", "D14", "D15", "D16")), fixed_now)
    return house


def pour(store: Store, now: datetime, by: str = "P1") -> str:
    with store.write() as db:
        return pour_sheet(db, "spring", now=now, by=by)


def knew_key(db: Session) -> set[str]:
    seats = db.scalars(select(SessionAssessor))
    return {seat.person.code for seat in seats if seat.knew_key}


def move(store: Store, now: datetime, *steps: Callable[..., object]) -> None:
    with store.write() as db:
        for step in steps:
            step(db, "spring", now=now, by="L1")


def test_the_pour_sheet_tells_code_draw_cask_and_water(sealed: Store, fixed_now: datetime) -> None:
    sheet = pour(sealed, fixed_now)
    with sealed.read() as db:
        for row in db.scalars(select(KeyRow)):
            cask = row.draw.filling.cask.number if row.draw.filling else ""
            assert re.search(rf"^{row.code} +{row.draw.label} +{cask}", sheet, re.MULTILINE)
        session = db.scalars(select(PanelSession)).one()
        assert session.key_hash is not None
        assert session.key_hash in sheet
        assert head_hash(db) in sheet
    assert re.search(r"^D1 +4001 +58\.0 .* 6\.9 \+ 13\.2$", sheet, re.MULTILINE)
    assert "heavily peated at the" in sheet
    assert "Do not drive" in sheet


def test_the_order_of_pouring_rises_with_the_peat(sealed: Store, fixed_now: datetime) -> None:
    peat = re.findall(r"(unpeated|heavily peated|not known)$", pour(sealed, fixed_now), re.M)
    assert peat[0] == "not known"  # the warm-up glass
    smoky = [word == "heavily peated" for word in peat]
    assert smoky == sorted(smoky)
    assert Counter(peat)["heavily peated"] in (3, 4)


def test_a_draw_that_is_served_twice_is_reduced_once(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(warm_up="R0"), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
    (line,) = re.findall(r"^R0 +46\.0 .*$", pour(house, fixed_now), re.MULTILINE)
    # 12 glasses of 20 mL and a tenth lost: 266.7 mL of 20 % vol, 115.9 mL of it at 46 %
    assert line.split()[2:5] == ["116", "151", "267"]


def test_sheets_fit_eighty_columns(sealed: Store, fixed_now: datetime) -> None:
    with sealed.write() as db:
        long = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        assert long.filling is not None
        long.filling.cask.number = "warehouse seven " * 4
        labels = tray_labels(db, "spring", now=fixed_now, by="P1")
    for sheet in (pour(sealed, fixed_now), labels):
        assert max(map(len, sheet.splitlines())) <= WIDTH


def test_tray_labels_carry_seats_and_codes_and_no_draw(sealed: Store, fixed_now: datetime) -> None:
    with sealed.write() as db:
        labels = tray_labels(db, "spring", now=fixed_now, by="P1")
        for seat, code in enumerate(CODES, start=1):
            own = labels.split(f"Seat {seat}  assessor {code}")[1].split("---")[0]
            mine = select(Serving).where(Serving.person.has(code=code))
            tray = db.scalars(mine.order_by(Serving.position)).all()
            assert re.findall(r"\b\d{3}\b", own) == [glass.code for glass in tray]
        without_hashes = re.sub(r"\b[0-9a-f]{64}\b", "", labels)
        assert not re.search(r"\bD\d|\bR0|400\d", without_hashes)


def test_who_printed_stands_in_the_log_and_costs_nothing_to_a_pourer(
    sealed: Store, fixed_now: datetime
) -> None:
    pour(sealed, fixed_now)
    with sealed.read() as db:
        newest = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert newest is not None
        assert '"action":"pour sheet printed"' in (newest.body_json or "")
        assert '"by":"P1"' in (newest.body_json or "")
        assert db.scalars(select(PanelSession)).one().blind
        assert knew_key(db) == set()


def test_an_assessor_who_prints_the_key_is_marked_and_told(
    sealed: Store, fixed_now: datetime
) -> None:
    with sealed.read() as db:
        assert "left out of every result" in printing_costs(db, "spring", "A1")[0]
    sheet = pour(sealed, fixed_now, by="A1")
    assert "! A1 assesses this session" in sheet
    with sealed.read() as db:
        assert knew_key(db) == {"A1"}
        assert db.scalars(select(PanelSession)).one().blind


def test_labels_tell_no_key_and_mark_nobody(sealed: Store, fixed_now: datetime) -> None:
    with sealed.write() as db:
        tray_labels(db, "spring", now=fixed_now, by="A1")
        assert knew_key(db) == set()


def test_the_key_printed_while_glasses_are_nosed_costs_the_blindness(
    sealed: Store, fixed_now: datetime
) -> None:
    move(sealed, fixed_now, open_session)
    assert "counts as not blind" in pour(sealed, fixed_now)
    with sealed.read() as db:
        assert not db.scalars(select(PanelSession)).one().blind


def test_after_closing_only_an_assessor_is_marked_and_after_the_reveal_nobody(
    sealed: Store, fixed_now: datetime
) -> None:
    move(sealed, fixed_now, open_session, close_session)
    pour(sealed, fixed_now, by="A2")
    move(sealed, fixed_now, reveal_session)
    pour(sealed, fixed_now, by="A3")
    with sealed.read() as db:
        assert knew_key(db) == {"A2"}
        assert db.scalars(select(PanelSession)).one().blind


def test_a_draft_has_no_sheets(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        for sheet in (pour_sheet, tray_labels):
            with pytest.raises(WrongState, match="Seal it first"):
                sheet(db, "spring", now=fixed_now, by="P1")


def test_codes_for_each_assessor_stand_beside_their_tray(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(codes_per_assessor=True), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        sheet = pour_sheet(db, "spring", now=fixed_now, by="P1")
        for row in db.scalars(select(KeyRow)):
            assert f"{row.code} {row.tray}" in sheet


def test_a_wide_cell_goes_on_below_itself() -> None:
    lines = columns(["draw", "n"], [["one two three", "7"]], (7, -3))
    assert lines == ["draw       n", "one two    7", "three"]


def test_nothing_on_paper_steers_a_terminal() -> None:
    assert printable("a\x1b[31m\nb") == "a?[31m?b"
    assert paragraph("x\x07") == ["x?"]


def day(store: Store, now: datetime, by: str = "P1") -> str:
    with store.write() as db:
        return day_sheet(db, "spring", now=now, by=by)


def test_the_day_sheet_is_one_page_of_codes_grams_seats_and_times(
    sealed: Store, fixed_now: datetime
) -> None:
    page = day(sealed, fixed_now)
    lines = page.splitlines()
    assert len(lines) <= 66  # what a printer puts on A4
    assert max(map(len, lines)) <= WIDTH
    with sealed.read() as db:
        keys = list(db.scalars(select(KeyRow)))
        assert all(re.search(rf"\b{row.code}\b", page) for row in keys)
        for row in keys:
            assert row.draw.label not in page.split()
            assert row.draw.filling is None or row.draw.filling.cask.number not in page.split()
        seats = [seat.person.code for seat in db.scalars(select(SessionAssessor))]
    assert all(re.search(rf"\b{code}\b", page) for code in seats)
    for words in ("flight 1: 0 to", "lids on", "catch fire", "Local law", "Log head"):
        assert words in page


def test_grams_of_the_day_sheet_make_the_strength_and_the_tolerance_holds_it(
    sealed: Store, fixed_now: datetime
) -> None:
    """Checked by mixing anew with the density of OIML R 22 (1975)."""
    from analysis.strength import density_from_abv, reduce_strength

    with sealed.read() as db:
        session = db.scalars(select(PanelSession)).one()
        plan_ = blueprint_of(db, session)
        strengths = {need.draw: need.abv_percent or 0.0 for need in pour_needs(db, plan_)}
        draws = {row.code: row.draw.label for row in db.scalars(select(KeyRow))}
        found = bulks(db, plan_)
    assert len(found) == len(set(draws.values()))
    for bulk in found:
        abv = strengths[draws[bulk.codes[0]]]
        assert {draws[code] for code in bulk.codes} == {draws[bulk.codes[0]]}
        assert bulk.spirit_g is not None
        assert bulk.water_g is not None
        assert bulk.tolerance_g is not None
        spirit_l = bulk.spirit_g / density_from_abv(abv)
        wanted = reduce_strength(spirit_l, abv, session.nosing_abv)
        assert bulk.water_g == pytest.approx(wanted.water_litres * 998.2, abs=0.1)
        off = bulk.tolerance_g
        more = (bulk.spirit_g + off) / density_from_abv(abv) * 1000.0
        strength = more * abv / (more + bulk.water_g - off)
        right = 1000.0 * spirit_l * abv / (1000.0 * spirit_l + bulk.water_g)
        assert strength - right == pytest.approx(HOLD_ABV, rel=0.05)


def test_the_day_sheet_costs_what_the_pour_sheet_costs(sealed: Store, fixed_now: datetime) -> None:
    with sealed.read() as db:
        assesses = db.scalars(select(SessionAssessor)).first()
        assert assesses is not None
        code = assesses.person.code
    day(sealed, fixed_now, by=code)
    with sealed.read() as db:
        assert knew_key(db) == {code}
