"""Blending by hand on the desk: shares move, profile, chance and stock follow, it is kept."""

from __future__ import annotations

import pytest

from analysis.chance_words import chance
from analysis.pictures import Picture
from panel.desk.app import DeskApp
from panel.desk.big_table import BigTable
from panel.desk.blend_forms import BlendForm, read_limits
from panel.desk.blend_lines import band, blend_rows
from panel.desk.blend_page import BlendPage
from panel.desk.form import FieldLine
from panel.desk.picture_page import PicturePage
from panel.desk.slip import ReadSlip
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.store.releases import Release
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.nosed import NOW, TODAY, build_nosed, gauge_all
from tests.release.test_barred import leak
from tests.release.test_vat import add_unnosed

SMALL, WIDE = (80, 24), (120, 40)
ASKED = {"target": "Fen", "litres": "350", "casks": "2-5", "gauges": "flagged", "drawing": "parts"}


@pytest.fixture
def desk(store: Store) -> DeskApp:
    build_nosed(store)
    return signed_in(DeskApp(store, by="BL", clock=lambda: NOW, start="releases"))


def page_of(desk: DeskApp) -> BlendPage:
    assert isinstance(desk.screen, BlendPage)
    return desk.screen


async def blend(desk: DeskApp, pilot: object) -> BlendPage:
    limits = read_limits(Entries(ASKED))
    desk.push_screen(BlendPage("Fen", limits))
    await settle(pilot)  # type: ignore[arg-type]  # the pilot of this desk
    return page_of(desk)


@pytest.mark.slow
@pytest.mark.parametrize("size", [SMALL, WIDE])
async def test_a_share_moves_and_all_follows(desk: DeskApp, size: tuple[int, int]) -> None:
    async with desk.run_test(size=size) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        before = dict(page.litres)
        assert page.tried is not None
        chance = page.tried.mixture.probability
        first = page.query_one(BigTable).rows[0].cask
        await press(pilot, "minus", "minus", "minus", "minus")
        assert page.litres[first] == pytest.approx(before[first] - 20.0)
        assert page.tried.mixture.probability != chance
        shown = seen(desk)
        assert any("chance" in line for line in shown)
        assert any("bottles" in line for line in shown)
        assert any("Stock:" in line for line in shown)
        assert sum("●" in line for line in shown) == 3
        assert max(len(line) for line in shown) <= size[0]


@pytest.mark.slow
async def test_what_hangs_on_the_parts_is_told_of_what_stands_there(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        await pilot.app.run_action("screen.mind")
        await settle(pilot)
        assert isinstance(desk.screen, ReadSlip)
        assert "It hangs most on" in desk.screen.text
        assert all(cask in desk.screen.text for cask, litres in page.litres.items() if litres)
        assert max(len(line) for line in seen(desk)) <= SMALL[0]


@pytest.mark.slow
async def test_a_limit_that_is_not_kept_is_told(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        await press(pilot, "space")
        await press(pilot, "space") if page.row and page.row.litres else None
        page.litres = {"C1": 20.0}
        page.reckon()
        await settle(pilot)
        assert any("! It is" in line for line in seen(desk))
        page.litres = {}
        page.reckon()
        await settle(pilot)
        assert any("Nothing is in it" in line for line in seen(desk))


@pytest.mark.slow
async def test_it_is_kept_and_its_casks_are_reserved(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        wanted = dict(page.litres)
        await press(pilot, "k")
        desk.screen.query_one(FieldLine).entry.value = "Spring"
        await press(pilot, "ctrl+s")
        assert any("Spring" in line and "proposed" in line for line in seen(desk))
        with store.read() as db:
            release = db.query(Release).one()
            assert release.proposed_by == "BL"
            states = {state.cask: state for state in filling_states(db, TODAY)}
            whole = {part.filling.cask.number for part in release.parts if part.whole}
            for cask, litres in wanted.items():
                lies = states[cask].bulk_l if cask in whole else litres
                assert states[cask].reserved_l == pytest.approx(lies)
        await press(pilot, "enter")
        assert any("Not disgorged yet" in line for line in seen(desk))


async def test_a_leaking_cask_is_told_and_not_kept_unasked(desk: DeskApp, store: Store) -> None:
    gauge_all(store)
    leak(store, "C8")
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        assert "C8" not in page.litres
        page.litres = {"C8": 100.0, "C9": 120.0}
        page.reckon()
        await settle(pilot)
        assert any("! Cask C8 is leaking." in line for line in seen(desk))
        await press(pilot, "k")
        desk.screen.query_one(FieldLine).entry.value = "Spring"
        await press(pilot, "ctrl+s")
        shown = " ".join(" ".join(seen(desk)).split())
        assert "Cask C8 has leaked since 2026-03-01" in shown
        with store.read() as db:
            assert db.query(Release).count() == 0


@pytest.mark.slow
async def test_casks_never_nosed_come_in_on_demand_and_are_not_reserved(
    desk: DeskApp, store: Store
) -> None:
    add_unnosed(store)
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        assert page.house is not None
        assert not page.house.stock.foretold.any()
        await press(pilot, "f")
        await settle(pilot)
        assert page.house.stock.foretold.sum() == 1
        page.litres = {"C9": 60.0, "C11": 60.0}
        page.reckon()
        await settle(pilot)
        shown = "\n".join(seen(desk))
        assert "? C11" in shown
        assert "? never nosed, foretold from wood, fill, age and peat: C11" in shown
        await press(pilot, "k")
        assert desk.screen is page
        assert "Nobody has nosed C11" in "\n".join(seen(desk))
        await press(pilot, "f")
        await settle(pilot)
        assert page.house is not None
        assert not page.house.stock.foretold.any()


@pytest.mark.slow
async def test_what_stands_there_is_drawn(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        page = await blend(desk, pilot)
        assert page.tried is not None
        await press(pilot, "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        notes, litres = drawn.pictures
        assert f"chance {chance(page.tried.mixture.probability)}" in notes.says
        assert isinstance(litres, Picture)
        assert [mark.x2 for mark in litres.marks] == [
            part.litres for part in page.tried.mixture.parts
        ]


@pytest.mark.slow
async def test_the_form_says_what_is_not_right(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        assert isinstance(desk.screen, BlendForm)
        await press(pilot, "ctrl+s")
        assert any("choose one" in line for line in seen(desk))
        assert any("bottles or litres" in line for line in seen(desk))


def test_what_is_typed_becomes_limits_or_faults() -> None:
    typed = Entries({"bottles": "many", "casks": "x", "share": "y", "age": "-1"})
    with pytest.raises(EntriesAtFault):
        read_limits(typed)
    assert typed.faults.keys() == {"bottles", "casks", "share", "age"}
    over = {"abv": "4640", "casks": "82-4", "share": "wood=oak:0.5-0.3"}
    late = Entries({"bottles": "600", **over})
    with pytest.raises(EntriesAtFault):
        read_limits(late)
    assert late.faults.keys() == over.keys()
    assert "% vol above 0, up to 100" in late.faults["abv"]
    assert "the lower number first" in late.faults["casks"]
    typed = Entries({"bottles": "600", "age": "4640"})
    with pytest.raises(EntriesAtFault):
        read_limits(typed)
    assert "no spirit is older than 100 years" in typed.faults["age"]
    limits = read_limits(Entries({"bottles": "600", "abv": "vat", "age": "12"}))
    assert (limits.bottles, limits.abv_percent, limits.age_statement_years) == (600, None, 12)
    assert limits.window == 0.03
    wide = read_limits(Entries({"bottles": "600", "over": "25"}))
    assert wide.window == pytest.approx(0.25)
    named = read_limits(Entries({"bottles": "600", "with": " C1, C2 ,C1", "without": "C3"}))
    assert (named.must_include, named.must_exclude) == (("C1", "C2"), ("C3",))
    assert set(named.asked) >= {"C1", "C2"}
    refused = Entries({"bottles": "600", "over": "much"})
    with pytest.raises(EntriesAtFault):
        read_limits(refused)
    assert refused.faults.keys() == {"over"}


@pytest.mark.slow
async def test_a_cask_is_asked_for_by_name(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        for cask, there in (("C4", True), ("C99", False)):
            limits = read_limits(Entries({**ASKED, "with": cask}))
            desk.push_screen(BlendPage("Fen", limits))
            await settle(pilot)
            page = page_of(desk)
            if there:
                assert page.tried is not None
                assert page.litres["C4"] > 0.0
            else:
                assert any("C99 (must be in) is not in stock" in line for line in seen(desk))
            desk.pop_screen()


def test_the_band_shows_target_and_blend() -> None:
    from analysis.vatting import Line

    line = Line("smoke", 50.0, 10.0, 20.0, 2.0, 0.1, 1.0)
    drawn = band(line, 101)
    assert (drawn.index("["), drawn.index("]"), drawn.index("●")) == (40, 60, 20)
    assert len(drawn) == 101


def test_shares_of_a_blend_add_up(store: Store) -> None:
    from panel.questions.vatting import house_stock

    build_nosed(store)
    with store.read() as db:
        stock = house_stock(db, as_of=TODAY).stock
    rows = blend_rows(stock, {"C1": 30.0, "C2": 10.0, "nix": 5.0})
    assert [row.cask for row in rows] == ["C1", "C2"]
    assert sum(row.share for row in rows) == pytest.approx(1.0)


@pytest.mark.slow
async def test_arrows_go_past_a_choice(desk: DeskApp) -> None:
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        form = desk.screen
        assert isinstance(form, BlendForm)
        at = {line.field.name: line.entry for line in form.lines}
        at["drawing"].focus()
        await press(pilot, "down")
        assert desk.focused is at["with"]
        await press(pilot, "up", "up")
        assert desk.focused is at["casks"]
