"""Influences and ageing on the desk: drawn from results made by hand."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from analysis.ageing import Ageing, Curve, Mark, Point, Window
from analysis.influences import Effect, Factor, Influences, NoteInfluences, Rests, Separation
from analysis.influences.moves import Claims
from analysis.pictures.effects import what_moves
from panel.desk.ageing_page import AgeingPage
from panel.desk.app import DeskApp
from panel.desk.influences_page import EffectsPage, InfluencesPage, effect_words, reach_of
from panel.desk.picture_page import PicturePage
from panel.desk.slip import ReadSlip
from panel.desk.windows_page import WindowsPage
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import SMALL, check_pictures
from tests.houses.at_the_desk import NASTY

EFFECTS = (
    Effect("bonfire", Factor.PHENOLS, "1 to 40 ppm", "", 38.0, 30.0, 46.0, 12, holds=True),
    Effect("bonfire", Factor.WOOD, NASTY, "oak barrel", 2.0, -3.0, 7.0, 4),
    Effect(
        "bonfire", Factor.PREVIOUS, "sherry", "bourbon", None, None, None, 3, "cannot be separated"
    ),
)
INFLUENCES = Influences(
    effects=EFFECTS,
    notes=(NoteInfluences("bonfire", "bonfire moves with phenols.", 12, 14, q2_cask=0.8),),
    separation=Separation(condition_number=3.0, inseparable=()),
    map=None,
    predictions=pd.DataFrame(columns=["cask"]),
    level=0.95,
    n_casks=12,
    n_draws=14,
    left_out={"age not known": 2},
    claims=Claims((), 0.95, 0, {}),
    warnings=("One wood only has young casks.",),
)
POINTS = tuple(
    Point(age, 20.0 + 2 * age, 15.0 + 2 * age, 25.0 + 2 * age, 10.0, 60.0, mark)
    for age, mark in (
        (4.0, Mark.NOSED),
        (8.0, Mark.NOSED),
        (10.0, Mark.RECKONED),
        (14.0, Mark.BEYOND),
    )
)
CURVE = Curve("bonfire", "Peat Weir", NASTY, 1, None, None, 5, 6, 1, Rests.AGES, POINTS)
UNKNOWN = Curve(
    "wet hay", "Peat Weir", NASTY, 1, None, None, 1, 1, 0, Rests.NEITHER, (), (), None, "x"
)
WINDOW = Window(
    *("Spring vatting", "SW4", "SW4/1", CURVE.style, 11.8, 2, 0.4),
    *(date(2027, 3, 1), 0.7, date(2026, 12, 1), date(2028, 2, 1), date(2029, 3, 14), "bonfire"),
)
AGEING = Ageing(
    *((CURVE, UNKNOWN), (WINDOW,), (), {}, ("Hardly a cask was drawn again.",)),
    *(date(2026, 3, 14), 0.95, 1),
)


@pytest.fixture(autouse=True)
def reckoned(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("panel.questions.profile.house_profile", lambda *_, **__: None)
    monkeypatch.setattr("panel.questions.influences.influences_of", lambda *_, **__: INFLUENCES)
    monkeypatch.setattr("panel.questions.ageing.ageing_of", lambda *_, **__: AGEING)


async def test_effects_are_drawn_about_nought(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "w")
        page = desk.screen
        assert isinstance(page, InfluencesPage)
        assert "bonfire moves with phenols." in "\n".join(seen(desk))
        await press(pilot, "enter")
        effects = desk.screen
        assert isinstance(effects, EffectsPage)
        clear, doubtful, untold = (effects.draw(effect, 76) for effect in EFFECTS)
        assert "●" in clear
        assert clear.index("├") > clear.index("┊")
        assert "○" in doubtful
        assert doubtful.index("├") < doubtful.index("┤")
        assert NASTY in doubtful
        assert "? cannot be separated" in untold
        await press(pilot, "enter")
        assert isinstance(desk.screen, ReadSlip)
        await press(pilot, "escape", "escape")
        assert page.is_current


@pytest.mark.slow
async def test_the_effects_of_a_note_are_drawn_from_list_and_note(
    desk: DeskApp,
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "w", "f6")
        from_list = desk.screen
        assert isinstance(from_list, PicturePage)
        await press(pilot, "escape", "enter", "f6")
        from_note = desk.screen
        assert isinstance(from_note, PicturePage)
        assert from_list.pictures == from_note.pictures == (what_moves(INFLUENCES, "bonfire"),)
        text = "\n".join(seen(desk))
        assert "What did wood, fill, age and peat do to bonfire?" in text
        assert "●" in text


async def test_what_cannot_be_told_is_told(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "w", "w")
        slip = desk.screen
        assert isinstance(slip, ReadSlip)
        assert "One wood only has young casks." in slip.text
        assert "2 draws, age not known" in slip.text


def test_an_effect_in_words_says_when_its_direction_is_in_doubt() -> None:
    assert "in doubt" not in effect_words(EFFECTS[0])
    assert "in doubt" in effect_words(EFFECTS[1])
    assert effect_words(EFFECTS[2]).endswith("cannot be separated.")
    assert reach_of(EFFECTS) == 50.0
    assert reach_of(()) == 10.0


@pytest.mark.slow
async def test_a_curve_is_drawn_and_what_is_not_known_is_dotted(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "y")
        page = desk.screen
        assert isinstance(page, AgeingPage)
        text = "\n".join(seen(desk))
        assert all(mark in text for mark in ("━", "╍", "·", "░", "28 → 40"))
        assert "Hardly a cask was drawn again." in text
        await press(pilot, "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        assert "How does bonfire grow" in "\n".join(seen(desk))
        await press(pilot, "escape", "down")
        assert "wet hay: x." in "\n".join(seen(desk))
        await press(pilot, "f6")
        assert desk.screen is page  # there is no picture of it


@pytest.mark.slow
async def test_windows_of_a_target_and_of_a_cask(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "y", "y", "enter")
        windows = desk.screen
        assert isinstance(windows, WindowsPage)
        assert windows.target == "Spring vatting"
        assert "from 2026-12 until 2028-02" in " ".join("\n".join(seen(desk)).split())
        await press(pilot, "enter")
        cask = desk.screen
        assert isinstance(cask, AgeingPage)
        assert cask.cask == "SW4"
        await press(pilot, "y")
        assert isinstance(desk.screen, ReadSlip)
        assert "SW4" in desk.screen.text


@pytest.mark.slow
async def test_the_cask_page_leads_to_its_own_years(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "y")
        assert isinstance(desk.screen, AgeingPage)
        assert desk.screen.cask == "SW1"


SHOWN = {
    "influences": ("2", "w"),
    "effects": ("2", "w", "enter"),
    "ageing": ("2", "y"),
    "windows": ("2", "y", "y", "enter"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SHOWN)
async def test_screen_looks_as_it_was_kept(desk: DeskApp, name: str) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, *SHOWN[name])
        await check_pictures(pilot, name)
