"""Guests' scores as they were typed: read with every fault told, and laid beside the panel."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from panel.errors import IntakeError
from panel.release.guests import (
    BesidePanel,
    GuestScore,
    beside_panel,
    guests_of,
    read_guest,
    read_guests,
    read_points,
)
from panel.release.tasting import Tasting
from panel.release.tasting_found import MiddleHalf

HEADINGS = "guest,release,note,score\n"


def pour(name: str, halves: dict[str, MiddleHalf] | None, *notes: str) -> Any:
    claims = [SimpleNamespace(note=note) for note in notes]
    return SimpleNamespace(
        name=name, found=SimpleNamespace(halves=halves), sheet=SimpleNamespace(claims=claims)
    )


TASTING = cast(
    Tasting,
    SimpleNamespace(
        pours=(
            pour("Spring", {"smoke": MiddleHalf(20.0, 40.0, 5)}, "smoke", "plum"),
            pour("Autumn", {"smoke": MiddleHalf(50.0, 60.0, 5)}, "smoke", "wax", "tar"),
            pour("Winter", None),
        )
    ),
)


def test_how_many_lie_in_the_middle_half_with_its_ends() -> None:
    half = MiddleHalf(20.0, 40.0, 5)
    points = (19.9, 20.0, 30.0, 40.0, 40.1)
    assert BesidePanel("Spring", "smoke", points, half).within == 3
    assert BesidePanel("Spring", "smoke", points, None).within == 0


def test_what_agrees_best_comes_first_and_what_has_no_half_last() -> None:
    scores = [
        GuestScore(2, "Autumn", "smoke", 55.0),
        GuestScore(1, "Autumn", "smoke", 10.0),  # one of two within
        GuestScore(1, "Spring", "smoke", 30.0),
        GuestScore(2, "Spring", "smoke", 40.0),
        GuestScore(3, "Spring", "smoke", 41.0),  # two of three within
        GuestScore(1, "Winter", "plum", 5.0),
        GuestScore(1, "Spring", "plum", 5.0),
        GuestScore(1, "Spring", "apple", 5.0),
    ]
    found = beside_panel(scores, TASTING)
    assert found.n_guests == 3
    assert [(line.release, line.note, line.points) for line in found.lines] == [
        ("Spring", "smoke", (30.0, 40.0, 41.0)),
        ("Autumn", "smoke", (10.0, 55.0)),
        ("Spring", "apple", (5.0,)),
        ("Spring", "plum", (5.0,)),
        ("Winter", "plum", (5.0,)),
    ]
    assert [line.half is None for line in found.lines] == [False, False, True, True, True]


def test_of_one_share_the_pour_that_was_poured_first_comes_first() -> None:
    scores = [GuestScore(1, "Autumn", "smoke", 55.0), GuestScore(1, "Spring", "smoke", 30.0)]
    assert [line.release for line in beside_panel(scores, TASTING).lines] == ["Spring", "Autumn"]


def file_of(folder: Path, text: str) -> Path:
    path = folder / "guests.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_sound_file_is_read_row_by_row(tmp_path: Path) -> None:
    path = file_of(tmp_path, HEADINGS + "1,spring,SMOKE,30\n2,Autumn,wax,0\n2,Spring,smoke,100\n")
    assert read_guests(path, TASTING) == (
        GuestScore(1, "Spring", "smoke", 30.0),
        GuestScore(2, "Autumn", "wax", 0.0),
        GuestScore(2, "Spring", "smoke", 100.0),
    )
    assert guests_of(path, TASTING).n_guests == 2


@pytest.mark.parametrize(
    ("rows", "faults"),
    [
        ("0,Spring,smoke,30\n", [("guest", 2)]),
        (",Spring,smoke,30\n", [("guest", 2)]),
        ("1,Sprong,smoke,30\n", [("release", 2)]),
        ("1,Spring,smoek,30\n", [("note", 2)]),
        ("1,Spring,smoke,101\n1,Spring,plum,-1\n", [("score", 2), ("score", 3)]),
        ("1,Spring,smoke,30\n2,Spring,smoke,30\n1,spring,smoke,31\n", [("", 4)]),
        (",Sprong,smoek,x\n", [("guest", 2), ("note", 2), ("release", 2), ("score", 2)]),
        ("", [("", 0)]),
        ("1,Spring,smoke,1\n1,Spring,plum,1\n1,Autumn,wax,1\n", []),
        ("1,Spring,smoke,1\n1,Spring,plum,1\n1,Autumn,wax,1\n1,Autumn,tar,1\n", [("note", 0)]),
    ],
)
def test_every_fault_of_a_file_is_told_at_once(
    tmp_path: Path, rows: str, faults: list[tuple[str, int]]
) -> None:
    path = file_of(tmp_path, HEADINGS + rows)
    if not faults:
        assert len(read_guests(path, TASTING)) == 3
        return
    with pytest.raises(IntakeError) as refused:
        read_guests(path, TASTING)
    assert sorted((each.column, each.row) for each in refused.value.problems) == faults
    told = "1 fault;" if len(faults) == 1 else f"{len(faults)} faults;"
    assert told in str(refused.value)


def test_a_column_that_is_missing_is_told_before_any_row(tmp_path: Path) -> None:
    path = file_of(tmp_path, "guest,release,note\n0,Spring,smoke\n")
    with pytest.raises(IntakeError) as refused:
        read_guests(path, TASTING)
    assert [(each.column, each.row) for each in refused.value.problems] == [("score", 1)]


@pytest.mark.parametrize("typed", ["0", "-1", "1.5", "x", ""])
def test_a_guest_is_a_whole_number_from_one_up(typed: str) -> None:
    assert read_guest("1") == 1
    with pytest.raises(IntakeError):
        read_guest(typed)


@pytest.mark.parametrize("typed", ["-0.1", "100.1", "x", ""])
def test_points_lie_on_the_line(typed: str) -> None:
    assert [read_points(each) for each in ("0", "100", "12.5", "12,5")] == [0, 100, 12.5, 12.5]
    with pytest.raises(IntakeError):
        read_points(typed)
