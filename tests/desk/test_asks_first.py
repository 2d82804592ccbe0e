"""What the desk asks before it ends a booth, or leaves a part of a name to stand."""

from __future__ import annotations

import csv
from io import StringIO
from pathlib import Path

import pytest

from panel.desk.app import DeskApp
from panel.desk.forget_forms import ForgetWhoForm
from panel.desk.homes import page_of
from panel.desk.key_in_form import KeyInForm
from panel.desk.pick import PickPage
from panel.desk.slip import Confirm
from panel.errors import SeatTaken
from panel.kinds import ReleaseStatus
from panel.release.lot_bottles import keep_remark
from panel.session.keyed import template
from panel.store import booth_queries as booth
from panel.store.bottle_remarks import BottleRemark, RemarkPerson
from panel.store.engine import Store
from panel.store.releases import Release
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle
from tests.houses.held_at_the_desk import NAME, NOW, hold


@pytest.mark.slow
async def test_keying_in_asks_before_it_ends_a_booth(
    house: Store, desk: DeskApp, tmp_path: Path
) -> None:
    hold(house, "open")
    with house.write() as db:
        row = next(csv.DictReader(StringIO(template(db, NAME))))
        seat = booth.take_seat(db, NAME, row["assessor"], now=NOW, place="a browser")
    told = f"{row['assessor']},{row['code']},{row['what']},40"
    for name in ("a", "b"):
        (tmp_path / name).write_text(f"assessor,code,what,value\n{told}\n", encoding="utf-8")
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await desk.push_screen(page_of("key in", NAME))
        form = desk.screen
        assert isinstance(form, KeyInForm)
        for line, name in zip(form.lines, ("a", "b"), strict=True):
            line.entry.value = str(tmp_path / name)
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, Confirm)
        assert "signed in at a booth (a browser) at" in desk.screen.text
        await press(pilot, "n")
        assert "Nothing was written." in "\n".join(seen(desk))
        await press(pilot, "ctrl+s", "y")
        assert not isinstance(desk.screen, KeyInForm)
    with house.read() as db, pytest.raises(SeatTaken, match="from paper"):
        booth.tray(db, seat)


async def test_a_file_to_key_into_is_written_by_a_key(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await desk.push_screen(page_of("key in", NAME))
        await press(pilot, "f7", "f7")
        assert "says what to write" in " ".join(" ".join(seen(desk)).split())
    first, second = sorted(tmp_path.glob("*-ballots*.csv"))
    with house.read() as db:
        assert first.read_text() == second.read_text() == template(db, NAME)


@pytest.mark.parametrize(
    ("pressed", "said"),
    [
        (("home", "space"), "Mrs Ostrow says: flat. somebody agrees."),
        (("end", "space"), "Mrs Ostrow says: flat. Ada agrees."),
    ],
    ids=["one place left out", "none of these, though all stay ticked"],
)
async def test_forgetting_shows_each_place_that_holds_a_part_of_the_name(
    house: Store, desk: DeskApp, pressed: tuple[str, ...], said: str
) -> None:
    with house.write() as db:
        made = Release(name="Spring", status=ReleaseStatus.BOTTLED, planned_on=FIXED_NOW.date())
        made.proposed_by, made.signed_by, made.lot_code = "LD", "BL", "L1-1"
        made.disgorged_on = made.bottled_on = FIXED_NOW.date()
        db.add(made)
    with house.write() as db:
        keep_remark(
            *(db, "L1-1"),
            said="Mrs Ostrow says: flat. Ada agrees.",
            who="Ada Ostrow",
            now=FIXED_NOW,
            by="LD",
        )
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await desk.push_screen(page_of("forget who", 1))
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, PickPage)
        assert "Mrs Ostrow says" in "\n".join(seen(desk))
        with house.read() as db:
            assert db.query(RemarkPerson).count() == 1, "nothing is done yet"
        await press(pilot, *pressed, "enter")
        assert not isinstance(desk.screen, ForgetWhoForm)
    with house.read() as db:
        assert db.query(RemarkPerson).count() == 0
        assert db.query(BottleRemark).one().said == said
