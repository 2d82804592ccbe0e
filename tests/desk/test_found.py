"""What the panel found: the figures of the command, drawn so that they can be read."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from panel.desk.app import DeskApp
from panel.desk.found_bands import two_bands
from panel.desk.found_lines import Band, draws_of
from panel.desk.found_page import FoundPage
from panel.desk.pick import PickPage
from panel.desk.scale_line import ScaleLine
from panel.questions.profile import house_profile
from panel.report.asked import cask_report
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import SMALL, check_pictures
from tests.desk.test_answers import hold_with_scores
from tests.houses.at_the_desk import NASTY

LINE = ScaleLine(41)


def test_two_bands_keep_both_middles() -> None:
    apart = two_bands(LINE, Band(20, 5), Band(60, 10))
    assert apart.index("●") == LINE.place(20)
    assert apart.index("○") == LINE.place(60)
    assert "◉" in two_bands(LINE, Band(40, 5), Band(40, 15))
    assert two_bands(LINE, None, None).strip() == ""


def test_bands_meet_where_they_have_a_stretch_in_common() -> None:
    assert Band(20, 5).meets(Band(30, 5))
    assert not Band(20, 5).meets(Band(31, 5))


@pytest.mark.slow
async def test_the_page_shows_what_the_command_says(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        profile = house_profile(db, as_of=date(2026, 3, 14))
    rows = profile.estimates
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "i")
        page = desk.screen
        assert isinstance(page, FoundPage)
        assert page.shown is not None
        assert page.shown.sample == "D1"
        expected = rows[(rows["sample"] == "D1") & (rows["descriptor"] == "bonfire")].iloc[0]
        band = page.shown.band("bonfire")
        assert band is not None
        assert band.value == pytest.approx(expected["estimate"])
        assert band.half == pytest.approx(2 * expected["se"])
        assert NASTY in "\n".join(seen(desk))


@pytest.mark.slow
async def test_the_casks_page_is_handed_on(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "i", "x")
        page = desk.screen
        assert isinstance(page, FoundPage)
        await settle(pilot)
        with house.read() as db:
            expected = cask_report(db, page.number, today=date(2026, 3, 14))
        [path] = tmp_path.glob("cask-*.html")
        assert path.read_text(encoding="utf-8") == expected
        assert path.stat().st_mode & 0o777 == 0o600


@pytest.mark.slow
async def test_a_cask_is_laid_beside_another_and_taken_away(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "i", "b")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "end", "enter")
        page = desk.screen
        assert isinstance(page, FoundPage)
        assert page.beside is not None
        assert page.beside.kind == "cask"
        assert "the two bands" in " ".join("\n".join(seen(desk)).split())
        await press(pilot, "u")
        assert page.beside is None
        assert "○ cask" not in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_cask_never_nosed_says_so(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "slash", *"SW10", "enter", "enter", "i")
        assert "No revealed session has nosed SW10 yet" in "\n".join(seen(desk))


async def test_a_filling_never_nosed_says_why_it_cannot_be_foretold(
    house: Store, desk: DeskApp
) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(FoundPage(NASTY))
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, FoundPage)
        assert page.shown is not None
        assert page.shown.sample == f"{NASTY}/1"
        shown = " ".join("\n".join(seen(desk)).split())
        assert "never nosed, and it cannot be foretold" in shown
        assert "casks were nosed of which wood, age and make are known" in shown


async def test_a_foretold_filling_is_drawn_and_named(
    desk: DeskApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = made_profile().estimates.assign(kind="foretold", sample="SW1/1", n_scores=0)
    asked = SimpleNamespace(rows=rows)
    monkeypatch.setattr("panel.questions.profile.house_profile", lambda *_, **__: made_profile())
    monkeypatch.setattr("panel.questions.asked_profile.asked_profile", lambda *_, **__: asked)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(FoundPage("SW1"))
        await settle(pilot)
        await press(pilot, "down")
        shown = " ".join("\n".join(seen(desk)).split())
        assert "foretold, never nosed" in shown
        assert "● SW1/1: foretold" in shown
        assert "points foretold from wood, fill, age and peat; nobody has nosed it" in shown


def test_newest_draw_stands_first(house: Store) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        profile = house_profile(db, as_of=date(2026, 3, 14))
    days = [draw.drawn_on for draw in draws_of(profile)]
    assert days == sorted(days, reverse=True)
    assert len(days) == 4


FIGURES = {
    "wet hay": (3.0, 2.5),
    "orchard fruit": (38.0, 4.0),
    "bonfire": (93.0, 5.0),
    NASTY: (None, None),
}


def made_profile() -> SimpleNamespace:
    """Return what the page reads of a profile: bars off both ends, a note without a figure."""
    rows = [
        {
            **{"sample": "D1", "cask": "SW1", "filling": "SW1/1", "kind": "test"},
            **{"drawn_on": pd.Timestamp("2026-02-01"), "age_years": 14.8, "raw_mean": value},
            **{"descriptor": name, "estimate": value, "se": se, "n_scores": 4, "n_sessions": 1},
            **{"last_nosed": pd.Timestamp("2026-03-14"), "component": 0},
            "reason": "all scores are the same" if value is None else None,
        }
        for name, (value, se) in FIGURES.items()
    ]
    return SimpleNamespace(estimates=pd.DataFrame(rows), note=None)


@pytest.mark.slow
async def test_screen_looks_as_it_was_kept(desk: DeskApp, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("panel.questions.profile.house_profile", lambda *_, **__: made_profile())
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "i", "b", "enter")
        await check_pictures(pilot, "found")
