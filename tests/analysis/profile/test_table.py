from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FrameError
from analysis.frames import usable
from analysis.profile.table import about_samples, tabulate

ROWS = [
    ("S1", "Alder", "n1", 1, "smoke", 10.0, "2026-01-10", None, None),
    ("S2", "Rowan", "n2", 2, "smoke", 30.0, "2026-02-10", "SW0002", "SW0002/1"),
    ("S2", "Alder", "n1", 1, "plum", 20.0, "2026-02-10", "SW0001", "SW0001/2"),
    ("S2", "Rowan", "n2", 1, "smoke", 40.0, "2026-02-10", "SW0002", "SW0002/1"),
    ("S1", "Alder", "n3", 1, "smoke", 50.0, None, None, None),
]
NAMES = ["session", "assessor", "sample", "replicate", "descriptor", "score", "held_on"]


def scored() -> pd.DataFrame:
    return pd.DataFrame(ROWS, columns=[*NAMES, "cask", "filling"])


def test_a_sample_is_what_is_known_of_it_in_any_row() -> None:
    used = usable(scored())
    about = about_samples(used.scores, used.codes)
    assert about["sample"].tolist() == ["n1", "n2", "n3"]
    assert about["cask"].tolist() == ["SW0001", "SW0002", None]
    assert about["filling"].tolist() == ["SW0001/2", "SW0002/1", None]
    assert about["last_nosed"].dt.month.tolist()[:2] == [2, 2]
    assert about["last_nosed"].isna().tolist() == [False, False, True]


@pytest.mark.parametrize(
    ("column", "value"), [("cask", "SW0009"), ("filling", "SW0001/3"), ("kind", "trial")]
)
def test_a_sample_that_is_two_things_is_refused(column: str, value: str) -> None:
    frame = scored().assign(kind="test")
    frame.loc[1, column] = value
    used = usable(frame)
    with pytest.raises(FrameError, match="Sample n2 belongs to more than one cask, filling or"):
        about_samples(used.scores, used.codes)


def test_a_sample_may_stand_as_the_reference_on_another_day() -> None:
    frame = scored().assign(kind="test")
    of = {name: frame.index[frame["sample"] == name][0] for name in ("n2", "n3")}
    frame.loc[list(of.values()), "kind"] = "reference"
    frame = pd.concat([frame, frame.loc[[of["n3"]]].assign(session="E9", kind="test")])
    used = usable(frame.reset_index(drop=True))
    about = about_samples(used.scores, used.codes).set_index("sample")["kind"]
    assert about["n2"] == "test"  # of a cask: it is ranked as that
    assert about["n3"] == "reference"  # of none


def test_glasses_lie_in_the_order_of_their_names() -> None:
    used = usable(scored())
    table = tabulate(used.scores, used.codes)
    assert table.descriptors.tolist() == ["plum", "smoke"]
    assert table.session.tolist() == [0, 0, 1, 1, 1]
    assert table.assessor.tolist() == [0, 0, 0, 1, 1]
    assert table.sample.tolist() == [0, 2, 0, 1, 1]
    blank = np.nan
    assert np.array_equal(
        table.scores,
        [[blank, 10.0], [blank, 50.0], [20.0, blank], [blank, 40.0], [blank, 30.0]],
        equal_nan=True,
    )
    assert table.filling.tolist() == [1, 0, 2]


def test_those_who_are_left_out_are_in_no_table() -> None:
    frame = scored().assign(status=["kept", "void", "kept", "void", "kept"])
    used = usable(frame)
    table = tabulate(used.scores, used.codes)
    assert table.assessors.tolist() == ["Alder"]
    assert table.samples.tolist() == ["n1", "n3"]
    assert table.filling.tolist() == [0, 1]
    assert table.scores.shape == (3, 2)
