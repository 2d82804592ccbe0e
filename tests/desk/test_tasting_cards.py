"""Cards for a tasting from the releases ticked: what the command writes, and why there are none."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from panel.desk.app import DeskApp
from panel.desk.releases import ReleasesPage
from panel.desk.slip import ReadSlip
from panel.release.tasting import tasting_of
from panel.report.asked import tasting_report
from panel.store.engine import Store
from panel.store.log import LogEntry
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.nosed import NOW, TODAY
from tests.houses.tasting import BOTTLED, build_tasting


@pytest.fixture
def desk(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DeskApp:
    monkeypatch.chdir(tmp_path)
    build_tasting(store)
    return signed_in(DeskApp(store, by="BL", clock=lambda: NOW, start="releases"))


def shown(desk: DeskApp) -> str:
    return " ".join(" ".join(seen(desk)).split())


NAMED = "Autumn-Spring-Summer"


async def tick_all(pilot: Pilot[None]) -> None:
    """By name: Autumn, Spring, Summer."""
    await press(pilot, "R", "home", *("space",) * 3)


@pytest.mark.slow
async def test_cards_of_the_ticked_are_those_of_the_command(
    desk: DeskApp, store: Store, tmp_path: Path
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await desk.run_action("cards", desk.screen)
        await settle(pilot)
        assert isinstance(desk.screen, ReadSlip)
        assert "3 to 6 pours, and 1 is named" in shown(desk)
        await press(pilot, "escape")
        await tick_all(pilot)
        for way, poured in (("cards", ()), ("cards(True)", ("backspace", "backspace", *"7,5"))):
            await desk.run_action(way, desk.screen)
            await settle(pilot)
            await press(pilot, *poured, "f8")
            assert "only you can read it" in shown(desk)
            await press(pilot, "escape")
    made = sorted(tmp_path.glob("*.html"))
    assert [path.name for path in made] == [f"tasting-{NAMED}.html", f"tasting-sheet-{NAMED}.html"]
    with store.read() as db:
        for path, ml in zip(made, (10.0, 7.5), strict=True):
            page = tasting_report(db, BOTTLED, today=TODAY, ml=ml, paper=ml < 10.0)
            assert path.read_text(encoding="utf-8") == page
            assert path.stat().st_mode & 0o777 == 0o600


async def test_pours_keep_the_bounds_of_the_command(desk: DeskApp, tmp_path: Path) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await tick_all(pilot)
        await desk.run_action("scores", desk.screen)
        await settle(pilot)
        await press(pilot, "backspace", "backspace", *"22", "f8")
        assert "24.1 g of ethanol, more than the 24 g" in shown(desk)
        await press(pilot, "backspace", "backspace", "0", "f8")
        assert "a number above zero" in shown(desk)
    assert list(tmp_path.glob("*.html")) == []


@pytest.mark.slow
async def test_sheets_typed_here_give_the_page_of_the_command(
    desk: DeskApp, store: Store, tmp_path: Path
) -> None:
    with store.read() as db:
        before = db.query(LogEntry).count()
        tasting = tasting_of(db, BOTTLED, as_of=TODAY, ml=8.0)
    first, note = tasting.pours[0].name, tasting.notes[0]
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await tick_all(pilot)
        await desk.run_action("scores", desk.screen)
        await settle(pilot)
        await press(pilot, "backspace", "backspace", "8", "f8", "n", "f8")
        assert "nothing is scored on it" in shown(desk)
        await press(pilot, *"101", "f8")
        assert "must be 100 points or less" in shown(desk)
        await press(pilot, *("backspace",) * 3, *"47,5", "f8")  # sheet 1
        await press(pilot, "n", *"60", "f8", "v")
        assert f"{first}, {note}" in shown(desk)
        await press(pilot, "escape", "escape")
        assert "2 sheets kept nowhere" in shown(desk)
        await press(pilot, "x", "escape")
        assert isinstance(desk.screen, ReleasesPage)
    [path] = tmp_path.glob("tasting-guests-*.html")
    keyed = tmp_path / "guests.csv"
    rows = [f"1,{first},{note},47.5", f"2,{first},{note},60"]
    keyed.write_text("\n".join(("guest,release,note,score", *rows)), encoding="utf-8")
    with store.read() as db:
        page = tasting_report(db, BOTTLED, today=TODAY, ml=8.0, guests=keyed)
        assert db.query(LogEntry).count() == before
    assert path.read_text(encoding="utf-8") == page
