"""Pages of influences, a target and a blend, written at the desk as the command writes them."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.desk.app import DeskApp
from panel.desk.blend_forms import read_limits
from panel.desk.blend_page import BlendPage
from panel.desk.typed import Entries
from panel.report.asked_stock import blend_report, influences_report, target_report
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.nosed import NOW, TODAY, build_nosed

ASKED = {"target": "Fen", "litres": "350", "casks": "2-5", "gauges": "flagged", "drawing": "parts"}


@pytest.fixture
def desk(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DeskApp:
    monkeypatch.chdir(tmp_path)
    build_nosed(store)
    return signed_in(DeskApp(store, by="BL", clock=lambda: NOW, start="targets"))


async def test_x_writes_what_the_command_writes(
    desk: DeskApp, store: Store, tmp_path: Path
) -> None:
    limits = read_limits(Entries(ASKED))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "x")
        assert "The page is in" in "\n".join(seen(desk))
        page = BlendPage("Fen", limits)
        desk.push_screen(page)
        await settle(pilot)
        await press(pilot, "minus", "x")
        litres, bound = dict(page.litres), page.limits
        await press(pilot, "2", "w", "x", "enter", "x")
    with store.read() as db:
        ember = influences_report(db, today=TODAY, descriptor="ember")
        wanted = {
            "target-Fen": target_report(db, "Fen", today=TODAY),
            "blend-Fen": blend_report(db, "Fen", bound, today=TODAY, litres=litres),
            "influences": influences_report(db, today=TODAY),
            "influences-ember": ember,
        }
    made = {path.stem: path for path in tmp_path.glob("*.html")}
    assert set(made) == set(wanted)
    for name, path in made.items():
        assert path.read_text(encoding="utf-8") == wanted[name], name
        assert path.stat().st_mode & 0o777 == 0o600
