from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.errors import AnalysisError, FrameError
from analysis.frames import check_scores, on_house_scale, usable
from tests.houses.worlds import Evening


def small() -> pd.DataFrame:
    return Evening(n_assessors=2, n_samples=2, n_notes=1, replicates=1).scores()


def test_optional_columns_get_their_stated_defaults() -> None:
    frame = check_scores(small().drop(columns="kind"))
    assert set(frame["kind"]) == {"test"}
    assert set(frame["status"]) == {"kept"}
    assert frame["held_on"].isna().all()
    assert (frame["scale_high"] == 100.0).all()


def test_the_given_frame_is_left_alone() -> None:
    given = small()
    before = given.copy()
    usable(given)
    pd.testing.assert_frame_equal(given, before)


def test_missing_columns_are_all_named() -> None:
    with pytest.raises(FrameError, match="sample, score"):
        check_scores(small().drop(columns=["sample", "score"]))


def test_all_faults_come_at_once() -> None:
    frame = small().assign(kind="tset", status="kept?")
    frame = pd.concat([frame, frame.head(1)], ignore_index=True)
    frame.loc[1, "score"] = 120.0
    with pytest.raises(FrameError) as caught:
        check_scores(frame)
    text = str(caught.value)
    assert len(caught.value.problems) == 4
    for part in ("tset", "kept?", "Row 2", "scored more than once", "P0", "x0", "note 0"):
        assert part in text


@pytest.mark.parametrize("odd", [np.inf, -np.inf, "twelve"])
def test_a_score_that_is_no_number_is_refused(odd: float | str) -> None:
    frame = small().drop(columns="score").assign(score=pd.Series([1.0, 2.0, odd, 4.0]))
    with pytest.raises(FrameError, match="Row 3"):
        check_scores(frame)


def test_a_date_that_is_none_is_refused() -> None:
    with pytest.raises(FrameError, match="held_on that is no date"):
        check_scores(small().assign(held_on="the 34th of May"))


def test_names_are_taken_as_they_are() -> None:
    frame = small()
    frame["sample"] = ["[/x]", "[/x]", "7", "7"]
    frame["replicate"] = [1, 2, 1, 2]
    assert set(check_scores(frame)["sample"]) == {"[/x]", "7"}


def test_what_is_left_out_is_counted() -> None:
    warm_up = small().query("sample == 'x0'").assign(sample="w", kind="warm_up")
    frame = pd.concat([small(), warm_up], ignore_index=True)
    frame["status"] = ["kept", "void", "knew_key", "re-poured", "kept", "kept"]
    frame.loc[0, "score"] = np.nan
    found = usable(frame, keep=("kept", "swap_suspected", "knew_key"))
    assert found.n_used == 1
    assert found.left_out == {"void": 1, "re-poured": 1, "warm-up glass": 2, "left blank": 1}
    assert len(found.blanks) == 1


@pytest.mark.parametrize("status", ["re-poured", "void"])
def test_a_glass_taken_back_may_stand_beside_the_one_in_its_place(status: str) -> None:
    standing = small().assign(status="kept")
    first = standing.head(1).assign(status=status, score=3.0)
    frame = pd.concat([first, standing], ignore_index=True)
    found = usable(frame)
    assert found.left_out == {status: 1}
    pd.testing.assert_frame_equal(found.scores, check_scores(standing))
    with pytest.raises(FrameError, match="1 glass is scored more than once"):
        usable(frame, keep=("kept", status))


def test_house_scale() -> None:
    frame = small().assign(scale_low=1.0, scale_high=9.0, score=[1.0, 3.0, 5.0, 9.0])
    assert on_house_scale(frame)["score"].tolist() == [0.0, 25.0, 50.0, 100.0]


def test_a_score_on_the_house_scale_does_not_change_by_a_bit() -> None:
    frame = check_scores(small().assign(score=[0.1, 33.3, 66.6, 99.9]))
    assert on_house_scale(frame)["score"].tolist() == [0.1, 33.3, 66.6, 99.9]


def test_one_tree_of_errors() -> None:
    import analysis.errors as errors

    classes = [
        value
        for name, value in vars(errors).items()
        if isinstance(value, type) and name.endswith("Error")
    ]
    for found in classes:
        assert issubclass(found, AnalysisError)
        assert found.__name__ in (errors.__doc__ or "")


@pytest.mark.parametrize(("odd", "said"), [(1.5, "no whole number"), (np.nan, "no replicate")])
def test_replicates_are_counted_in_whole_numbers(odd: float, said: str) -> None:
    frame = small().assign(replicate=[1.0, odd, 1.0, 1.0])
    with pytest.raises(FrameError, match=f"Row 2 has .*{said}"):
        check_scores(frame)
