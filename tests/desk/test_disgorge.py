"""Disgorging at the desk: the same rules as by command, each fault beside its field."""

from __future__ import annotations

from datetime import date

import pytest

from panel.desk.app import DeskApp
from panel.desk.disgorge_form import DisgorgeForm, read_disgorged
from panel.desk.form import FieldLine
from panel.desk.slip import ReadSlip
from panel.release.given import Given
from panel.release.propose import from_litres, propose
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.store.releases import Release
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.nosed import NOW, TODAY, build_nosed, weigh_today

SIZE = (120, 40)


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
    for line in desk.screen.query(FieldLine):
        if (name := line.field.name.rpartition(" ")[2]) in values:
            line.entry.value = values[name]


def beside(desk: DeskApp, name: str) -> str:
    line = next(each for each in desk.screen.query(FieldLine) if each.field.name.endswith(name))
    return str(line.query_one(".beside").render())


@pytest.mark.slow
async def test_what_the_casks_gave_is_kept_and_the_rest_stays(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "g")
        assert isinstance(desk.screen, DisgorgeForm)
        fill(desk, C8="0@60", C9="40@59 keeps")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, ReadSlip)
        shown = " ".join(" ".join(seen(desk)).split())
        assert "Cask C8 gave nothing, planned were 116.8 L. 116.8 L stay in it." in shown
        with store.read() as db:
            states = {state.cask: state for state in filling_states(db, TODAY)}
            assert db.query(Release).one().disgorged_on == TODAY
        assert [states[cask].emptied_on for cask in ("C8", "C9")] == [None, None]
        assert states["C9"].bulk_l == pytest.approx(88.8)
        await press(pilot, "escape", "g")
        given = {line.field.name: line.entry.value for line in desk.screen.query(FieldLine)}
        assert (given["gave C8"], given["gave C9"]) == ("0@60", "40@59")


@pytest.mark.slow
async def test_every_fault_stands_there_and_nothing_is_kept(desk: DeskApp, store: Store) -> None:
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "g")
        fill(desk, C8="lots", on="yesterday")
        await press(pilot, "ctrl+s")
        assert "litres@strength" in beside(desk, "C8")
        assert "say what it gave" in beside(desk, "C9")
        assert "a date such as" in beside(desk, "on")
        fill(desk, C8="500@60", C9="120@59", on="2027-01-01", others="C1=90@59")
        await press(pilot, "ctrl+s")
        shown = " ".join(" ".join(seen(desk)).split())
        for words in ("after today", "a size of 200 L", "Cask C1 holds 37.8 L"):
            assert words in shown
        with store.read() as db:
            assert db.query(Release).one().disgorged_on is None


async def test_only_what_is_not_signed_is_disgorged(desk: DeskApp, store: Store) -> None:
    from panel.release.steps import cancel

    with store.write() as db:
        cancel(db, "Spring", "no bottles", on=TODAY, now=NOW, by="BL")
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "g")
        assert not isinstance(desk.screen, DisgorgeForm)
        assert "proposed and not signed" in " ".join(seen(desk))


def test_what_is_typed_is_read() -> None:
    values = {"gave C8": "60@58.4 empty", "others": "C1=3@59 C2=4@60", "on": "2026-03-14"}
    typed = read_disgorged({**values, "vat_abv": "58"}, ["C8"])
    assert typed.given == {
        "C1": Given(3.0, 59.0),
        "C2": Given(4.0, 60.0),
        "C8": Given(60.0, 58.4, empty=True),
    }
    assert (typed.on, typed.vat) == (date(2026, 3, 14), {"vat_litres": None, "vat_abv": 58.0})
