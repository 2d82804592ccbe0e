"""Plans of the stock at the desk: written, looked for, changed to see what moves, proposed from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.stock_plan import Ended
from panel.desk.app import DeskApp
from panel.desk.form import FormPage
from panel.desk.slip import ReadSlip
from panel.desk.stock_plan_page import StockPlanPage
from panel.desk.stock_plans import StockPlansPage
from panel.questions.plan_changes import PlanChange
from panel.questions.stock_plans import PlanFound
from panel.store.engine import Store
from panel.store.releases import Release
from panel.store.stock_plans import StoredPlan
from panel.words.plan_words import plan_rows
from tests.desk.driving import press, seen, settle, signed_in
from tests.desk.kept_pictures import check_pictures
from tests.houses.nosed import NOW, build_nosed, weigh_today

SIZE = (80, 24)


@pytest.fixture
def desk(store: Store) -> DeskApp:
    build_nosed(store)
    weigh_today(store)
    return signed_in(DeskApp(store, by="BL", clock=lambda: NOW, start="releases"))


def fill(desk: DeskApp, **values: str) -> None:
    assert isinstance(desk.screen, FormPage)
    for line in desk.screen.lines:
        if line.field.name in values:
            line.entry.value = values[line.field.name]


def shown(desk: DeskApp) -> str:
    return " ".join(" ".join(seen(desk)).split())


def plan_page(desk: DeskApp) -> StockPlanPage:
    assert isinstance(desk.screen, StockPlanPage)
    return desk.screen


def found_on(desk: DeskApp) -> PlanFound:
    found = plan_page(desk).found
    assert found is not None
    return found


async def test_a_plan_is_written_looked_for_changed_and_proposed_from(
    desk: DeskApp, store: Store
) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await desk.screen.run_action("plans")
        await settle(pilot)
        assert isinstance(desk.screen, StockPlansPage)
        await press(pilot, "n")
        first = {"plan": "Years", "release": "Fen 2026", "target": "Fen", "bottles": "120"}
        fill(desk, **first, year="soon", limits="parts; over thirty")
        await press(pilot, "ctrl+s")
        assert "must be a number" in shown(desk) or "!" in shown(desk)
        fill(desk, year="2026", limits="parts; over 30")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, StockPlansPage)
        await press(pilot, "enter", "n")
        fill(desk, release="Fen 2027", target="Fen", bottles="120", year="2027", limits="parts")
        await press(pilot, "ctrl+s")
        page = plan_page(desk)
        assert len(found_on(desk).found.releases) == 2
        await press(pilot, "n", "ctrl+s")  # no release: no row of the whole is written over
        assert isinstance(desk.screen, FormPage)
        assert "Limits on its page" in shown(desk)
        await press(pilot, "escape", "l")
        fill(desk, draw="400", stay="much; 50", hold="C99")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, FormPage)
        assert "'much' is no litres" in shown(desk)
        fill(desk, stay="50", hold="C99; C98")
        await press(pilot, "ctrl+s")
        assert "no cask 'C99'" in shown(desk)
        assert "no cask 'C98'" in shown(desk)
        fill(desk, hold="")
        await press(pilot, "ctrl+s")
        assert "As a whole: draw 400; stay 50" in shown(desk)
        assert found_on(desk).whole == "draw 400; stay 50"
        await press(pilot, "l")
        assert isinstance(desk.screen, FormPage)
        assert desk.screen.values() == {"draw": "400", "stay": "50"}
        await press(pilot, "escape")
        await check_pictures(pilot, "stock-plan")
        await press(pilot, "v")
        assert isinstance(desk.screen, ReadSlip)
        assert "release after release" in shown(desk)
        await press(pilot, "escape")
        assert page.check_action("again", ()) is False
        page.found = replace(
            found_on(desk), found=replace(found_on(desk).found, ended=Ended.STOPPED)
        )
        assert page.check_action("again", ()) is True
        page.just_stopped = True
        await press(pilot, "minus")
        assert plan_page(desk) is page  # the key that stopped it asks nothing yet
        assert "Minus once more takes" in shown(desk)
        await press(pilot, "comma")
        assert not found_on(desk).found.cut_short
        cask = found_on(desk).found.releases[0].casks[0]
        await press(pilot, "y")
        await settle(pilot)
        assert "Which cask goes when" in shown(desk)
        assert cask in shown(desk)
        await press(pilot, "escape")
        await press(pilot, "j")
        fill(desk, hold=cask)
        await press(pilot, "ctrl+s")
        assert found_on(desk).changed[0] == f"cask {cask} held"
        assert f"cask {cask} held" in shown(desk)
        assert page.check_action("keep", ()) is False
        assert page.check_action("anew", ()) is False  # what was found is near enough
        page.found = replace(found_on(desk), nearer_anew=True)
        assert page.check_action("anew", ()) is True
        await page.run_action("anew")
        await settle(pilot)
        assert found_on(desk).changed[0] == f"cask {cask} held"
        assert page.change is not None
        assert page.change.anew
        assert not found_on(desk).nearer_anew
        before = found_on(desk)
        await press(pilot, "j")
        fill(desk, hold="C99", move="Fen", year="2019", widen="tarr", points="3")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, FormPage)
        assert {line.field.name for line in desk.screen.lines if line.query(".beside.-fault")} == {
            *("hold", "move", "year", "widen"),
        }
        assert "There is no cask" in shown(desk)
        await press(pilot, "escape", "escape")
        assert found_on(desk) is before
        page.plan = "Gone"  # a look that runs into trouble leaves the answer, and what goes with it
        page.changed(None)
        await settle(pilot)
        assert "There is no plan" in shown(desk)
        assert found_on(desk) is before
        assert page.change == PlanChange(hold=(cask,), anew=True)
        assert page.check_action("change", ()) is True
        assert page.record is not None
        dropped, *rest = page.record.lines  # one was dropped since, one written that is not found
        record = replace(page.record, lines=(*rest, replace(dropped, release="Bad", year=2040)))
        rows = plan_rows(record, before)
        assert [row.release for row in rows] == [*(line.release for line in rest), "Bad"]
        assert (rows[-1].chance, rows[-1].casks) == ("", "")
        page.plan = "Years"
        await press(pilot, "j")
        fill(desk, hold="", move="", year="")
        await press(pilot, "ctrl+s")
        assert found_on(desk).changed == ()
        await press(pilot, "k")
        fill(desk, reason="as planned")
        await press(pilot, "ctrl+s")
        assert "is proposed, its casks reserved" in shown(desk)
        assert page.row is not None
        assert page.row.release == "Fen 2026"
        await press(pilot, "j")
        assert isinstance(desk.screen, FormPage)
        assert "move" not in desk.screen.values()
        fill(desk, move="Fen 2026", year="2027")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, FormPage)
        assert "Fen 2026 is proposed" in shown(desk)
        await press(pilot, "escape", "escape")
        await press(pilot, "down", "minus", "y")
        assert page.record is not None
        assert [line.release for line in page.record.lines] == ["Fen 2026"]
        page.found = None  # as after a look that was stopped before there was an answer
        assert page.check_action("years", ()) is False
        assert page.check_action("again", ()) is True
    with store.read() as db:
        assert db.query(Release).one().reason == "as planned"
        assert db.query(StoredPlan).one().kept_on is not None
