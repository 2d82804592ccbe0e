"""An answer is reckoned once, read as it was, and reckoned anew where it cannot be trusted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.profile import Profile
from panel.kept.form import NotKeptError, from_bytes, to_bytes
from panel.kept.keeping import Kept, kept_or_reckoned, shelf_of
from panel.kept.packing import pack
from panel.questions import profile as questions
from panel.questions.profile import house_profile
from panel.store import kept_files
from panel.store.engine import Store
from panel.store.kept_files import FIT, MOST_FITS, Place, Shelf, place_of
from panel.store.log import append_entry
from panel.store.opening import file_of
from panel.store.places import FILE_MODE
from panel.store.sessions import Score
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

DAY = date(2026, 11, 1)
Reckonings = list[date]


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        add_house(db, FIXED_NOW)
    return store


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> Reckonings:
    """What was reckoned and not read."""
    made: Reckonings = []
    reckon = questions.reckoned_profile

    def told(db: Any, *, as_of: date, start: Profile | None = None) -> Profile:
        made.append(as_of)
        return reckon(db, as_of=as_of, start=start)

    monkeypatch.setattr(questions, "reckoned_profile", told)
    return made


def ask(store: Store, day: date = DAY) -> Profile:
    with store.read() as db:
        return house_profile(db, as_of=day)


def files(store: Store) -> list[Path]:
    return place_of(store.url).files()


def fit_file(store: Store) -> Path:
    return next(each for each in files(store) if f"-{FIT}-" in each.name)


def sign_in(store: Store) -> None:
    with store.write() as db:
        append_entry(db, at=FIXED_NOW, by="M1", action="signed in", details={})


def test_the_same_question_is_reckoned_once(house: Store, reckoned: Reckonings) -> None:
    first = ask(house)
    second = ask(house, date(2026, 11, 2))
    assert reckoned == [DAY]
    assert second.as_of == date(2026, 11, 2)
    pd.testing.assert_frame_equal(first.estimates, second.estimates)
    assert first.to_dict(private=True) == {**second.to_dict(private=True), "as_of": "2026-11-01"}


@pytest.mark.slow
def test_a_head_that_moved_reckons_nothing_and_a_score_does(
    house: Store, reckoned: Reckonings
) -> None:
    ask(house)
    sign_in(house)
    ask(house)
    assert len(reckoned) == 1
    with house.write() as db:
        db.query(Score).first().value = 70.0  # type: ignore[union-attr]
    ask(house)
    assert len(reckoned) == 2


def test_what_no_log_tells_of_yet_is_not_kept(house: Store, reckoned: Reckonings) -> None:
    ask(house)
    with house.write() as db:
        db.query(Score).first().value = 70.0  # type: ignore[union-attr]
        db.flush()
        house_profile(db, as_of=DAY)
        assert len(reckoned) == 2
        assert len([each for each in files(house) if f"-{FIT}-" in each.name]) == 1


def test_a_fit_that_began_from_another_is_read_by_nobody(
    house: Store, reckoned: Reckonings
) -> None:
    with house.read() as db:
        earlier = questions.reckoned_profile(db, as_of=DAY)
        house_profile(db, as_of=DAY, start=earlier)
    assert files(house) == []
    assert len(reckoned) == 2


def test_a_large_house_begins_from_the_fit_kept_last(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And what it finds is kept, for it hangs on no start; a small one begins with the scores."""
    starts: list[Profile | None] = []
    reckon = questions.reckoned_profile

    def told(db: Any, *, as_of: date, start: Profile | None = None) -> Profile:
        starts.append(start)
        return reckon(db, as_of=as_of, start=start)

    def changed(value: float) -> Profile:
        with house.write() as db:
            db.query(Score).first().value = value  # type: ignore[union-attr]
        sign_in(house)
        return ask(house)

    monkeypatch.setattr(questions, "reckoned_profile", told)
    first = ask(house)
    changed(70.0)
    assert starts == [None, None]
    monkeypatch.setattr(questions, "WORTH_A_START", first.n_scores)
    changed(60.0)
    third = starts[-1]
    assert third is not None
    assert third.n_scores == first.n_scores
    ask(house)
    assert len(starts) == 3


def test_it_is_private_and_whole(house: Store) -> None:
    ask(house)
    assert {each.stat().st_mode & 0o777 for each in files(house)} == {FILE_MODE}
    assert not [each for each in file_of(house.url).parent.iterdir() if "part" in each.name]


def damage(content: bytes) -> bytes:
    return content[:-9] + bytes([content[-9] ^ 1]) + content[-8:]


def spoil_form(content: bytes) -> bytes:
    """A file that is whole and holds what is no answer."""
    from hashlib import sha256

    held = to_bytes({"key": "x", "kind": FIT, "edition": "x", "answer": 1})
    return kept_files.BEGINS + sha256(held).hexdigest().encode() + b"\n" + held


@pytest.mark.parametrize(
    "spoil",
    [damage, lambda c: c[:100], lambda _: b"", lambda c: b"oakpanel kept 0\n" + c[16:], spoil_form],
    ids=["a bit", "cut", "empty", "older form", "of another key"],
)
def test_what_is_damaged_or_foreign_is_reckoned_anew_and_only_the_log_says_it(
    house: Store,
    reckoned: Reckonings,
    spoil: Callable[[bytes], bytes],
    own_log: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    first = ask(house)
    file = fit_file(house)
    file.write_bytes(spoil(file.read_bytes()))
    before = own_log.read_text() if own_log.exists() else ""
    second = ask(house)
    assert len(reckoned) == 2
    pd.testing.assert_frame_equal(first.estimates, second.estimates)
    assert "kept answer was damaged or not ours" in own_log.read_text().removeprefix(before)
    assert "A2" not in own_log.read_text()
    assert capsys.readouterr() == ("", "")
    ask(house)
    assert len(reckoned) == 2


def test_a_file_that_others_may_read_or_that_leads_elsewhere_is_not_trusted(
    house: Store, reckoned: Reckonings, tmp_path: Path
) -> None:
    ask(house)
    fit_file(house).chmod(0o644)
    ask(house)
    assert len(reckoned) == 2
    elsewhere = tmp_path / "elsewhere"
    fit_file(house).rename(elsewhere)
    with house.read() as db:
        shelf = shelf_of(db)
    assert shelf is not None
    assert shelf.read(FIT, "0" * 20) is None


def test_no_object_comes_out_of_a_file() -> None:
    with pytest.raises(NotKeptError):
        to_bytes(Path("x"))
    for told in ({"~": "exe"}, {"~": "value", "c": "Path", "v": {}}):
        with pytest.raises(KeyError):
            from_bytes(pack(told, {}))
    with pytest.raises(NotKeptError):
        to_bytes(np.array([Path("x")], dtype=object))


def test_every_kind_of_value_comes_back_as_it_was() -> None:
    frame = pd.DataFrame(
        {
            "word": ["a", None, "a"],
            "number": [1.5, np.nan, -0.0],
            "day": pd.Series([date(2026, 1, 2), None, date(2025, 1, 1)], dtype="datetime64[s]"),
            "any": pd.Series([1, "x", None], dtype="object"),
        },
        index=pd.Index(["p", "q", "p"], name="row"),
    )
    value = {
        "frame": frame,
        ("a", 1): [DAY, None, float("inf"), True, frozenset({"x", "y"})],
        "arrays": (np.float32(0.1), np.int64(3), np.arange(6).reshape(2, 3)[:, ::2]),
    }
    found = from_bytes(to_bytes(value))
    pd.testing.assert_frame_equal(found["frame"], frame)
    assert found["a", 1] == value["a", 1]
    assert found["arrays"][0].dtype == np.float32
    assert (found["arrays"][2] == np.array([[0, 2], [3, 5]])).all()


def shelf_in(folder: Path, edition: str = "e1") -> Shelf:
    return Shelf(Place(folder, "panel.sqlite-kept-"), edition)


def test_three_fits_are_kept_and_the_ones_used_last(tmp_path: Path) -> None:
    shelf = shelf_in(tmp_path)
    for n in range(MOST_FITS + 2):
        shelf.write(FIT, f"key{n}", b"x")
        file = next(each for each in shelf.place.files() if each.name.endswith(f"key{n}"))
        os.utime(file, (n, n))
    shelf.write("heads", "all", b"{}")
    assert sorted(shelf.keys(FIT)) == ["key2", "key3", "key4"]


def test_of_answers_those_used_last_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_files, "MOST_ANSWERS", 2)
    shelf = shelf_in(tmp_path)
    shelf.write(FIT, "fit", b"x")
    for n in range(3):
        shelf.write("stock", f"key{n}", b"x")
        os.utime(next(f for f in shelf.place.files() if f.name.endswith(f"key{n}")), (n, n))
    shelf.tidy()
    assert (shelf.keys(FIT), sorted(shelf.keys("stock"))) == (["fit"], ["key1", "key2"])


def test_no_more_is_kept_than_the_house_has_room_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_files, "MOST_BYTES", 1000)
    shelf = shelf_in(tmp_path)
    assert not shelf.write("stock", "big", b"x" * 1001)
    for n in range(4):
        shelf.write("stock", f"key{n}", b"x" * 300)
        os.utime(next(f for f in shelf.place.files() if f.name.endswith(f"key{n}")), (n, n))
    shelf.tidy()
    assert sorted(shelf.keys("stock")) == ["key2", "key3"]


def test_another_edition_goes_with_the_next_that_is_written(tmp_path: Path) -> None:
    shelf_in(tmp_path, "e1").write(FIT, "old", b"x")
    assert shelf_in(tmp_path, "e2").read(FIT, "old") is None
    shelf_in(tmp_path, "e2").write(FIT, "new", b"x")
    assert shelf_in(tmp_path, "e1").keys(FIT) == []


def test_a_second_one_waits_for_the_one_that_reckons(house: Store) -> None:
    found: list[object] = []

    def second() -> None:
        with house.read() as db:
            found.append(kept_or_reckoned(db, asked(lambda: pytest.fail("twice"))).value)

    waiting = threading.Thread(target=second)

    def first() -> str:
        waiting.start()
        return "answer"

    with house.read() as db:
        assert kept_or_reckoned(db, asked(first)).value == "answer"
    waiting.join()
    assert found == ["answer"]


def asked(reckon: Callable[[], Any]) -> Kept:
    return Kept("stock", lambda: "head", lambda: "records", reckon)


HOLDS = """
import sys
from pathlib import Path
from panel.store.kept_files import Place, Shelf
with Shelf(Place(Path(sys.argv[1]), "panel.sqlite-kept-"), "e1").alone("fit", "key") as alone:
    print(alone, flush=True)
    sys.stdin.read()
"""


def test_the_lock_of_a_process_is_waited_for_and_that_of_a_dead_one_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    call = [sys.executable, "-P", "-c", HOLDS, str(tmp_path)]
    pipe = subprocess.PIPE
    with subprocess.Popen(call, stdin=pipe, stdout=pipe, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "True\n"
        monkeypatch.setattr(kept_files, "PATIENCE_S", 0.1)
        with shelf_in(tmp_path).alone("fit", "key") as alone:
            assert not alone
        other.send_signal(signal.SIGKILL)
    with shelf_in(tmp_path).alone("fit", "key") as alone:
        assert alone
    assert shelf_in(tmp_path).place.files() == []


def test_a_folder_that_may_not_be_written_keeps_nothing(
    house: Store, reckoned: Reckonings, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(kept_files, "_write_whole", refused)
    ask(house)
    ask(house)
    assert len(reckoned) == 2
    assert files(house) == []
