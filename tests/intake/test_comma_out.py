"""A house that writes decimals with a comma: its saved files have it, and load again exactly."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.notebook.table import read_table
from panel.errors import EntriesAtFault
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.saving import save_file
from panel.records.settings import change_setting
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.intake.files import BY, NOW

CASKS = b"""\
cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,make
C;1,"oak, new",200,2015-04-09,1,63.125,190.005,Low
C2,butt,500.125,2016-04-09,2,61.234,480,Low
"""
MAKES = b"""\
make,site,cereal,phenol_ppm
Low,Sallow Weir,barley,0.00001
"""


def set_comma(store: Store) -> None:
    with store.write() as db:
        change_setting(db, "decimal_mark", "comma", now=NOW, by=None)


def loaded(store: Store, folder: Path) -> Store:
    for kind, content in ((Kind.MAKES, MAKES), (Kind.CASKS, CASKS)):
        (folder / "in.csv").write_bytes(content)
        assert load_file(store, kind, folder / "in.csv", now=NOW, by=BY).problems == ()
    return store


def test_a_file_with_commas_loads_into_the_same_records(store: Store, tmp_path: Path) -> None:
    house = loaded(store, tmp_path)
    for kind in (Kind.MAKES, Kind.CASKS):
        save_file(house, kind, tmp_path / f"point-{kind}.csv")
    set_comma(house)
    other = make_database(str(tmp_path / "other.sqlite"))
    for kind in (Kind.MAKES, Kind.CASKS):
        path = tmp_path / f"comma-{kind}.csv"
        save_file(house, kind, path)
        assert load_file(other, kind, path, now=NOW, by=BY).problems == ()
        save_file(other, kind, tmp_path / f"again-{kind}.csv")
        again, point = (tmp_path / f"{name}-{kind}.csv" for name in ("again", "point"))
        assert again.read_bytes() == point.read_bytes()
    text = (tmp_path / "comma-casks.csv").read_text()
    assert '"C;1";oak, new;200;' in text
    assert ";63,1250;190,0050;" in text, "three digits behind a comma might be thousands"
    other.close()


def test_a_notebook_reads_it_as_the_other(store: Store, tmp_path: Path) -> None:
    house = loaded(store, tmp_path)
    save_file(house, Kind.CASKS, tmp_path / "point.csv")
    set_comma(house)
    save_file(house, Kind.CASKS, tmp_path / "comma.csv")
    point, comma = (read_table(tmp_path / f"{name}.csv") for name in ("point", "comma"))
    assert (
        comma.number("fill_abv").tolist() == point.number("fill_abv").tolist() == [61.234, 63.125]
    )
    assert comma.text("cask").tolist() == ["C2", "C;1"]
    assert comma.problems == []


def test_there_are_two_marks(store: Store) -> None:
    with (
        store.write() as db,
        pytest.raises(EntriesAtFault, match="write point or comma"),
    ):
        change_setting(db, "decimal_mark", ";", now=NOW, by=None)
