"""A parcel passed from its plan to the lifted hold: by command, and on the desk's pages."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from panel.cli import invocation
from panel.desk.app import DeskApp
from panel.desk.cask_page import CaskPage
from panel.desk.passing_page import PassedTable, PassingPage
from panel.desk.passing_texts import NosesPage, SlipsPage
from panel.desk.planted_page import PlantedPage, SpikeForm
from panel.desk.sessions import SessionsPage
from panel.kinds import Fault
from panel.questions.passing import do_not_empty
from panel.records.planting import planted_lines
from panel.report.asked import session_report
from panel.report.readers import Reader
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.to_pass import PARCEL, answer, build_to_pass, good_nose, to_open, to_reveal
from tests.houses.to_plan import HELD_ON


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now)
    return store


@pytest.fixture
def oakpanel(
    house: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    fixed_now: datetime,
) -> Call:
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: fixed_now)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


def rule(nose: str, sample: str) -> tuple[Fault, ...]:
    return (Fault.RUBBER,) if sample == "D4" else good_nose(nose, sample)


def test_from_the_plan_to_the_lifted_hold(
    oakpanel: Call, house: Store, fixed_now: datetime, tmp_path: Path
) -> None:
    of = ("--passing", "--held-on", "2026-03-14")
    said = oakpanel("session", "plan", "P1", *of, "--parcel", PARCEL, "--assessor", "A1").out
    assert "Each glass is passed, or held with its fault named" in said
    assert "spike sulphur" not in said.split("gets")[-1].splitlines()[0]
    some = ("session", "plan", "X", *of, "--parcel", PARCEL, "--assessor", "A1", "--casks", "20")
    assert "is taken by its newest sample, in P1 (draft)" in " ".join(oakpanel(*some).err.split())
    wrong = oakpanel("session", "plan", "X", "--parcel", PARCEL, "--assessor", "A1")
    assert (wrong.code, "--parcel goes with --passing" in wrong.err) == (2, True)
    for session, nose in (("P1", rule), ("P2", lambda *_: ())):
        if session == "P2":
            again = oakpanel("session", "plan", "P2", *of, "--again", "P1", "--assessor", "A2")
            assert again.code == 0
            of_p2 = ("session", "plan", "P3", *of, "--draw", "D4", "--assessor", "A2")
            assert "whoever noses so few knows that" in " ".join(oakpanel(*of_p2).err.split())
        for step in ("seal", "open"):
            assert oakpanel("session", step, session).code == 0
        answer(house, session, fixed_now, nose)
        assert oakpanel("session", "close", session).code == 0
        if session == "P1":
            early = oakpanel("agreement", "P1")
            assert (early.code, "once it is revealed" in " ".join(early.err.split())) == (1, True)
            assert oakpanel("passing", "lift", "4004").code == 1
        listed = next(row for row in oakpanel("session", "list").out.splitlines() if session in row)
        assert listed.split()[4] == listed.split()[5], "every glass was passed or held"
        assert oakpanel("session", "reveal", session).code == 0
        if session == "P1":
            told = oakpanel("agreement", "P1").out
            assert told.startswith("22 passed, 1 to nose again, 0 held.")
            assert "4004 (D4) is to nose again: rubber, held by one nose." in told
            found = oakpanel("agreement", "P1", "--assessor", "A1", "--json").document
            assert {block["assessor"] for block in found["blocks"]} == {"A1"}
            glasses = oakpanel("session", "show", "P1", "--scores", "--json").document["glasses"]
            held = [glass["cask"] for glass in glasses if glass["passed"] is False]
            assert ("4004" in held, None in {glass["passed"] for glass in glasses}) == (True, False)
            assert " held" in oakpanel("session", "show", "P1", "--scores").out
            kept = oakpanel("people", "export", "A1").document["sessions"][0]["glasses"]
            assert {glass["passed"] for glass in kept} == {True, False}
            page = tmp_path / "slips.html"
            oakpanel("passing", "slips", "--to", str(page))
            assert "DO NOT EMPTY" in page.read_text()
            assert "4004" in page.read_text()
    assert "DO NOT EMPTY, Long shed" in oakpanel("passing", "slips").out
    assert "is free: A2 passed it in P2" in oakpanel("passing", "lift", "4004").out
    assert "Passing holds no cask." in oakpanel("passing", "slips").err
    noses = " ".join(oakpanel("passing", "noses").out.split())
    assert "1 morning of passing since 2026-03-14." in noses
    assert "over-wooded, other: not shown; none was planted. A pass says nothing of them." in noses


def test_planting_by_command(oakpanel: Call, house: Store) -> None:
    spike = ("passing", "spike", "X1", "--fault", "soapy", "--stock", "A2", "--sheet", "folder 4")
    refused = oakpanel(*spike, "--base", "D2")
    assert (refused.code, "not known to be sound" in refused.err) == (1, True)
    kept = " ".join(oakpanel("passing", "sound", "D2").out.split())
    assert kept == (
        "D2 is kept as known to be sound: no session passes this sample with the parcel "
        f"{PARCEL} any more."
    )
    wrong = oakpanel(*spike, "--base", "D2", "--abv", "140", "--made-by", "Nobody")
    assert wrong.code == 1
    assert wrong.err.splitlines()[:2] == [
        "--abv: % vol above 0, up to 100",
        "--made-by: there is nobody of the code 'Nobody'.",
    ]
    assert "nosed only, never tasted" in " ".join(oakpanel(*spike, "--base", "D2").err.split())
    assert "X1" in oakpanel("passing", "list").out
    with house.read() as db:
        (line,) = (line for line in planted_lines(db) if line.sample == "X1")
    assert (line.base, line.made_by, line.safety_sheet) == ("D2", "L1", "folder 4")


@pytest.mark.slow
async def test_the_pages_of_the_desk(house: Store, fixed_now: datetime) -> None:
    to_open(house, fixed_now, held_on=fixed_now.date())
    answer(house, "morning", fixed_now, rule)
    to_reveal(house, "morning", fixed_now)
    desk = signed_in(DeskApp(house, by="L1", clock=lambda: fixed_now))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, SessionsPage)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, PassingPage)
        assert "22 passed, 1 to nose again, 0 held." in "\n".join(seen(desk))
        row = page.query_one(PassedTable).current
        assert row is not None
        assert (row.cask, row.state.value) == ("4004", "to nose again")
        await press(pilot, "enter")
        assert isinstance(desk.screen, CaskPage)
        await press(pilot, "escape", "h", "y")
        assert "nosed again by a second nose first" in " ".join(" ".join(seen(desk)).split())
        await press(pilot, "v")
        assert "Stopped" in "\n".join(seen(desk))
        await press(pilot, "v", "p")
        assert isinstance(desk.screen, SlipsPage)
        assert "DO NOT EMPTY, Long shed" in "\n".join(seen(desk))
        await press(pilot, "escape")
        desk.push_screen(NosesPage())
        await settle(pilot)
        assert "1 morning of passing" in "\n".join(seen(desk))
        desk.push_screen(PlantedPage())
        await settle(pilot)
        assert "known sound" in "\n".join(seen(desk))
        await press(pilot, "n")
        assert isinstance(desk.screen, SpikeForm)
    with house.read() as db:
        assert len(do_not_empty(db, HELD_ON)) == 1
        told = session_report(db, "morning", today=fixed_now.date(), reader=Reader.OTHERS)
    assert "22 passed, 1 to nose again, 0 held." in told
