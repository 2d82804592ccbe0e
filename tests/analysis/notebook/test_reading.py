"""Saved files, read without a database: every fault is told with row, column and what is near."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from analysis.bar_text import bars_as_text, bars_from_text
from analysis.bars import BarRules, FillingFacts, Marks, bars_of
from analysis.errors import FileError, UnknownNameError
from analysis.notebook import read_drawn, read_mixing, read_scores, read_stock, read_targets

HEAD = "session,held_on,assessor,sample,kind,position,replicate,status"
LONG = f"{HEAD},descriptor,version,score\n"
Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def written(text: str) -> Path:
        path = tmp_path / "file.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def glass(assessor: str, sample: str, *cells: str, status: str = "kept") -> str:
    return ",".join(("S1", "2026-03-14", assessor, sample, "test", "1", "1", status, *cells)) + "\n"


def test_long_and_wide_are_one_frame(write: Write) -> None:
    long = LONG + "".join(
        glass(who, what, note, "1", score)
        for who, what, scores in (("A", "x", "10 20"), ("A", "y", "30 40"), ("B", "x", "5 0"))
        for note, score in zip(("smoke", "plum"), scores.split(), strict=True)
    )
    wide = f"{HEAD},smoke,plum\n" + "".join(
        glass(*row)
        for row in (("A", "x", "10", "20"), ("A", "y", "30", "40"), ("B", "x", "5", "0"))
    )
    one, other = read_scores(write(long)), read_scores(write(wide))
    pd.testing.assert_frame_equal(one, other)
    assert one["score"].tolist() == [10, 20, 30, 40, 5, 0]
    assert one["held_on"].iloc[0] == pd.Timestamp("2026-03-14")


def test_an_empty_cell_is_a_blank_only_where_the_line_was_asked_on_a_glass_in_use(
    write: Write,
) -> None:
    rows = [
        *(glass("A", "x", "10", "20"), glass("A", "y", "30", "")),
        *(glass("B", "x", "5", ""), glass("B", "y", "", "")),
        *(glass("C", "x", "8", "9"), glass("C", "y", "7", "", status="void")),
    ]
    frame = read_scores(write(f"{HEAD},smoke,plum\n" + "".join(rows)))
    blank = frame[frame["score"].isna()]
    assert blank[["assessor", "sample", "descriptor"]].to_numpy().tolist() == [["A", "y", "plum"]]


@pytest.mark.parametrize(
    ("told", "counts"),
    [("knew_key", "knew_key"), ("void+knew_key", "void"), ("kept+knew_key", "knew_key")],
)
def test_of_two_states_that_counts_which_takes_the_glass_back(
    write: Write, told: str, counts: str
) -> None:
    frame = read_scores(write(LONG + glass("A", "x", "smoke", "1", "10", status=told)))
    assert frame["status"].tolist() == [counts]


def test_wordings_are_kept_apart_unless_they_are_said_to_be_one_note(write: Write) -> None:
    path = write(LONG + glass("A", "x", "smoke", "1", "10") + glass("A", "y", "smoke", "2", "30"))
    assert read_scores(path)["descriptor"].tolist() == ["smoke (up to version 1)", "smoke"]
    assert read_scores(path, pool_versions=True)["descriptor"].tolist() == ["smoke", "smoke"]


def test_a_name_that_begins_like_a_formula_comes_back(write: Write) -> None:
    frame = read_scores(write(LONG + glass("'=A", "'+x", "[/x]", "1", "10")))
    assert frame[["assessor", "sample", "descriptor"]].iloc[0].tolist() == ["=A", "+x", "[/x]"]


def test_all_faults_of_a_file_are_told_at_once_with_their_places(write: Write) -> None:
    good, bad = glass("A", "x", "smoke", "1", "10"), glass("A", "y", "smoke", "1", "3O")
    odd = glass("B", "x", "smoke", "1", "10", status="vold").replace("2026-03-14", "14.3.2026")
    with pytest.raises(FileError) as told:
        read_scores(write(LONG + good + bad + odd))
    assert told.value.problems == (
        "row 3, column score: '3O' is no number: write it as 12.5",
        "row 4, column held_on: '14.3.2026' is no day: write it as 2026-03-14",
        "row 4, column status: 'vold' The nearest: void.",
    )


def test_unknown_headings_are_refused_with_the_nearest(write: Write) -> None:
    with pytest.raises(FileError, match=r"column assessor is missing\. The nearest: asessor\."):
        read_scores(write("session,asessor,sample,smoke\nS1,A,x,10\n"))
    with pytest.raises(FileError, match=r"no column 'postion'\. The nearest: position"):
        read_scores(write("session,assessor,sample,postion,descriptor,score\n"))
    with pytest.raises(FileError, match=r"'Held on' reads like a misspelt one\. .*held_on"):
        read_scores(write("session,assessor,sample,Held on,smoke\nS1,A,x,2026-03-14,10\n"))
    with pytest.raises(FileError, match=r"no column 'previos'\. The nearest: previous"):
        read_drawn(write("sample,cask,filling,wood,fill_number,age_years,previos\n"))


def test_other_files_are_refused_in_words(write: Write, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="own words"):
        read_scores(write("session,assessor,sample,word,score\nS1,A,x,tar,10\n"))
    with pytest.raises(FileError, match="No such file"):
        read_stock(tmp_path / "none.csv")
    with pytest.raises(FileError, match="no table"):
        read_stock(write(""))
    with pytest.raises(FileError, match="stands twice"):
        read_stock(write("cask,cask\n1,2\n"))
    bars = "cask,filling,age_years,abv,bulk_l,bars,bar_facts\nC1,C1/1,9,58,180,on hold,lost\n"
    with pytest.raises(FileError, match="not as they were saved"):
        read_stock(write(bars))


def test_a_target_that_is_not_there_is_refused_with_the_nearest(write: Write) -> None:
    targets = read_targets(write("target,descriptor,aim,tolerance\nLantern,smoke,24,9\n"))
    assert targets["Lantern"].lines[0].weight == 1.0
    with pytest.raises(UnknownNameError, match=r"no target 'Lanten'\. The nearest: Lantern\."):
        targets["Lanten"]


def test_mixing_keeps_what_the_house_has_set(write: Write) -> None:
    rule = read_mixing(write("descriptor,exponent,gain,bench_sd\nsmoke,0.5,,\nplum,,1.2,3\n"))
    assert (rule.exponents, rule.gains, rule.bench_sd) == (
        {"smoke": 0.5},
        {"plum": 1.2},
        {"plum": 3},
    )


def test_bars_come_back_with_all_that_is_behind_them() -> None:
    day = pd.Timestamp("2026-03-14").date()
    facts = FillingFacts(
        *(180.0, 39.5),
        others=("C1/2",),
        leaking=True,
        leaking_since=day,
        on_hold=True,
        hold_reason="café; smells of = [/x]",
        marks=(Marks(("sulphur", "mould"), 2, "S1"),),
        topped_on=day,
        nosed_before_topping=True,
        owner="Mill Trust",
        gauge_age_years=4.25,
        reserved_litres=20.0,
        reserved_for=("Spring",),
        weak_from=day,
        used_on=day,
    )
    bars = bars_of(facts, BarRules(40.0, 3.0))
    assert len(bars) == 10
    assert bars_from_text(*bars_as_text(bars)) == bars
    gone = bars_of(FillingFacts(0.0, 60.0, gone=True, gone_on=day))
    assert bars_from_text(*bars_as_text(gone)) == gone
    assert bars_from_text(*bars_as_text(())) == ()
