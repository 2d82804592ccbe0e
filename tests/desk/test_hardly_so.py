"""What hardly is so is asked about at the desk; kept once more, it is so. All tables are known."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.desk.new_cask import CaskForm
from panel.desk.text_page import TextPage
from panel.store.casks import Filling
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.test_forms import fault_beside
from tests.desk.test_new_cask import put
from tests.desk.test_own_headings import load

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
async def test_a_weak_filling_is_kept_when_it_is_kept_once_more(
    house: Store, desk: DeskApp
) -> None:
    weak = select(Filling.fill_abv).where(Filling.label == "SW77/1")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "n")
        form = desk.screen
        assert isinstance(form, CaskForm)
        told = {"cask": "SW77", "wood": "oak butt", "size_l": "500", "filled_on": "2025-05-01"}
        put(form, **told, fill_number="1", fill_abv="6.35", fill_bulk_l="480")
        await press(pilot, "ctrl+s")
        assert "is 63.5 meant?" in " ".join(fault_beside(desk, "fill_abv").split())
        assert "keep it once more" in "\n".join(seen(desk))
        with house.read() as db:
            assert db.scalar(weak) is None
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, CasksPage)
    with house.read() as db:
        assert db.scalar(weak) == 6.35


async def test_a_file_with_a_weak_filling_wants_a_yes(
    house: Store, desk: DeskApp, tmp_path: Path
) -> None:
    headings = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l"
    path = tmp_path / "casks.csv"
    path.write_text(f"{headings}\nSW77,oak butt,500,2025-05-01,1,6.35,480\n", encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "casks", str(path))
        assert isinstance(desk.screen, TextPage)
        assert "choose yes at Odd values" in " ".join("\n".join(seen(desk)).split())
        await press(pilot, "escape", "end")
        put(desk.screen, sure="yes")  # type: ignore[arg-type]
        await press(pilot, "f8", "k")
    with house.read() as db:
        assert db.scalar(select(Filling.fill_abv).where(Filling.label == "SW77/1")) == 6.35


@pytest.mark.slow
def test_all_tables_are_known_once_the_desk_looked_who_may_come_in(house: Store) -> None:
    """Threads that read while another still loads tables would settle half of them."""
    program = (
        "import sys\nfrom datetime import UTC, datetime\n"
        "from panel.store.opening import open_store\nfrom panel.session.gate import read_gate\n"
        f"read_gate(open_store({str(house.url.database)!r}), None, now=datetime.now(UTC))\n"
        "print('panel.store.draws' in sys.modules, 'panel.store.releases' in sys.modules)"
    )
    command = [sys.executable, "-c", program]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.split() == ["True", "True"]
