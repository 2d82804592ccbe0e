"""A page to hand on, written at the desk as the command writes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.desk.agreement_page import AgreementPage
from panel.desk.app import DeskApp
from panel.report.asked import session_report
from panel.report.readers import Reader
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.test_answers import hold_with_scores


@pytest.mark.slow
async def test_x_writes_the_page_of_a_session(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert desk.screen.check_action("write_page", ()) is False  # a list of sessions is none
        await press(pilot, "i", "x")
        assert isinstance(desk.screen, AgreementPage)
        name = desk.screen.session_name
        assert "The page is in" in "\n".join(seen(desk))
        await desk.run_action("write_page('lead')", desk.screen)
        await settle(pilot)
    others, lead = sorted(tmp_path.glob("*.html"), key=lambda path: path.stat().st_size)
    assert lead.name == f"{others.stem}-lead.html"
    with house.read() as db:
        for path, reader in ((others, Reader.OTHERS), (lead, Reader.LEAD)):
            page = session_report(db, name, today=desk.today(), reader=reader)
            assert path.read_text(encoding="utf-8") == page
            assert path.stat().st_mode & 0o777 == 0o600


async def test_x_writes_the_page_of_a_cask(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "x")
        assert "The page is in" in "\n".join(seen(desk))
    [page] = tmp_path.glob("cask-*.html")
    assert "The records" in page.read_text(encoding="utf-8")
