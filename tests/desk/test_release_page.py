"""One release at the desk, from the bench to the bottle: what the commands do, by keys."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from analysis.pictures import Picture
from panel.desk.app import DeskApp
from panel.desk.form import FormPage
from panel.desk.picture_page import PicturePage
from panel.desk.release_page import ReleasePage
from panel.desk.slip import ReadSlip
from panel.release.propose import from_litres, propose
from panel.release.sheet import sheet_of
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.releases import Release
from tests.desk.driving import press, seen, settle, signed_in
from tests.desk.kept_pictures import check_pictures
from tests.houses.nosed import NOW, TODAY, build_nosed, weigh_today
from tests.houses.pins import PIN, give_pins
from tests.release.test_release import nose_blend

SIZE = (80, 24)


@pytest.fixture
def desk(store: Store) -> DeskApp:
    from analysis.vatting import Drawing, Limits

    build_nosed(store)
    weigh_today(store)
    limits = Limits(drawing=Drawing.PART, smallest_draw_litres=0.0)
    with store.write() as db:
        wanted = from_litres(db, "Fen", limits, {"C8": 116.8, "C9": 128.8}, as_of=TODAY)
        propose(db, "Spring", wanted, as_of=TODAY, now=NOW, by="BL")
    return signed_in(DeskApp(store, by="BL", clock=lambda: NOW, start="releases"))


def fill(desk: DeskApp, **values: str) -> None:
    assert isinstance(desk.screen, FormPage)
    for line in desk.screen.lines:
        if (name := line.field.name.rpartition(" ")[2]) in values:
            line.entry.value = values[name]


def shown(desk: DeskApp) -> str:
    return " ".join(" ".join(seen(desk)).split())


def release(store: Store) -> Release:
    with store.read() as db:
        return db.query(Release).one()


def deeds(store: Store) -> list[str]:
    with store.read() as db:
        return [json.loads(entry.body_json or "{}")["action"] for entry in db.query(LogEntry)]


@pytest.mark.slow
async def test_its_page_looks_as_it_was_kept(desk: DeskApp) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await check_pictures(pilot, "release")


@pytest.mark.slow
async def test_where_it_stands_is_drawn_once_its_blend_was_nosed(
    desk: DeskApp, store: Store
) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "f6")
        empty = desk.screen
        assert isinstance(empty, PicturePage)
        assert not empty.pictures
        assert "nothing to draw" in shown(desk)
        await press(pilot, "escape", "d")
        fill(desk, ml="50")
        await press(pilot, "ctrl+s", "escape")
        nose_blend(store, "Spring-B1", (30.0, 24.0, 44.0))
        await press(pilot, "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        with store.read() as db:
            sheet = sheet_of(db, "Spring", as_of=TODAY)
        [picture] = drawn.pictures
        assert isinstance(picture, Picture)
        assert [row.name for row in picture.rows] == [claim.note for claim in sheet.claims]
        assert "Where does Spring stand in the house?" in shown(desk)


@pytest.mark.slow
async def test_a_bench_blend_is_a_draw_in_half_millilitres(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "d")
        fill(desk, ml="lots")
        await press(pilot, "ctrl+s")
        assert "above zero" in shown(desk)
        fill(desk, ml="50")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, ReadSlip)
        assert "Chance that just this is within the target" in shown(desk)
        await press(pilot, "escape")
        assert "nose Spring-B1 blind" in shown(desk)
    with store.read() as db:
        blend = db.query(Draw).filter_by(label="Spring-B1").one()
        assert {part.millilitres for part in blend.parts} == {24.0, 26.0}
    assert deeds(store)[-1] == "bench blend mixed"


async def test_a_second_person_signs_there_and_it_is_bottled(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        give_pins(store)
        await press(pilot, "enter")
        assert isinstance(desk.screen, ReleasePage)
        assert desk.screen.check_action("sign", ()) is False
        await press(pilot, "g")
        fill(desk, C8="116.8@60", C9="128.8@59")
        await press(pilot, "ctrl+s", "escape", "s")
        await press(pilot, "ctrl+s")
        for words in ("choose who signs", "their own PIN", "say why"):
            assert words in shown(desk)
        await press(pilot, "enter")
        assert "LD" in shown(desk)
        assert " BL " not in " ".join(seen(desk)[3:-1])
        await press(pilot, "enter")
        fill(desk, pin="0000", despite="no time for it")
        await press(pilot, "ctrl+s")
        assert "! " in shown(desk)
        assert release(store).signed_by is None
        fill(desk, pin=PIN)
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, ReleasePage)
        assert "signed by LD" in shown(desk)
        await press(pilot, "k")
        fill(desk, bottles="300")
        await press(pilot, "ctrl+s")
        assert "excise officer" in shown(desk)
    kept = release(store)
    assert (kept.signed_by, kept.signed_despite) == ("LD", "no time for it")
    assert (kept.bottles, kept.bottled_on) == (300, TODAY)
    assert [deed for deed in deeds(store) if deed.startswith("release")] == [
        *("release proposed", "release disgorged", "release signed", "release bottled")
    ]


@pytest.mark.slow
async def test_it_is_given_up_with_a_reason(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "minus", "ctrl+s")
        assert "say why" in shown(desk)
        fill(desk, reason="no bottles to be had")
        await press(pilot, "ctrl+s")
        assert "It was given up" in shown(desk)
    assert release(store).cancelled_because == "no bottles to be had"


@pytest.mark.slow
async def test_the_sheet_is_handed_on_as_a_file(
    desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "p")
        assert "Sheet of Spring" in shown(desk)
        await press(pilot, "escape", "x")
        assert "only you can read it" in shown(desk)
        await desk.run_action("write_page('guest')", desk.screen)
        await settle(pilot)
        assert "once it is bottled" in shown(desk)
        await desk.run_action("hand_on", desk.screen)
        await settle(pilot)
        told = "".join(seen(desk)).replace(" ", "").replace("┃", "")
        assert str(tmp_path / "Spring-sheet.txt") in told
    assert "Log head" in (tmp_path / "Spring-sheet.txt").read_text(encoding="utf-8")
    [page] = tmp_path.glob("*.html")
    assert page.name == "release-Spring-guide.html"
    assert "What not to say" in page.read_text(encoding="utf-8")


@pytest.mark.slow
async def test_how_a_note_mixes_is_set_by_hand(desk: DeskApp, store: Store) -> None:
    from panel.questions.mixing_rules import mixing_rule

    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await desk.run_action("mixing", desk.screen)
        await settle(pilot)
        assert "! " in shown(desk)
        await desk.run_action("exponent", desk.screen)
        await settle(pilot)
        fill(desk, note="ember", exponent="1.2")
        await press(pilot, "ctrl+s")
    with store.read() as db:
        assert mixing_rule(db).exponents["ember"] == 1.2
