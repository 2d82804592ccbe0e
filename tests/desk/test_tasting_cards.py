"""Cards for a tasting from the releases ticked: what the command writes, and why there are none."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.desk.app import DeskApp
from panel.desk.slip import ReadSlip
from panel.report.asked import tasting_report
from panel.store.engine import Store
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


async def test_cards_of_the_ticked_are_those_of_the_command(
    desk: DeskApp, store: Store, tmp_path: Path
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await desk.run_action("cards", desk.screen)
        await settle(pilot)
        assert isinstance(desk.screen, ReadSlip)
        assert "3 to 6 pours, and 1 is named" in shown(desk)
        assert list(tmp_path.glob("*.html")) == []
        await press(
            pilot, "escape", "R", "home", *("space",) * 3
        )  # by name: Autumn, Spring, Summer
        for way in ("cards", "cards(True)"):
            await desk.run_action(way, desk.screen)
            await settle(pilot)
            assert "only you can read it" in shown(desk)
            await press(pilot, "escape")
    made = sorted(tmp_path.glob("*.html"))
    assert [path.name for path in made] == [
        "tasting-Autumn-Spring-Summer.html",
        "tasting-sheet-Autumn-Spring-Summer.html",
    ]
    with store.read() as db:
        for path, paper in zip(made, (False, True), strict=True):
            page = tasting_report(db, BOTTLED, today=TODAY, paper=paper)
            assert path.read_text(encoding="utf-8") == page
            assert path.stat().st_mode & 0o777 == 0o600
