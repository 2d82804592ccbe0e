"""A cask that nobody nosed, filled from casks that somebody did: the sums against the formulas.

Pure alcohol weighs the amounts ``score^(1/n)`` (Stevens's power law); errors go through the
mixture by its slopes (the delta method), here taken by differences, and what all readings share
moves every parent at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd
import pytest

from analysis.influences import Foretold
from analysis.influences.foretold import COLUMNS
from analysis.influences.foretold_errors import JointForetold
from analysis.profile import Profile
from analysis.profile.posterior import Posterior
from analysis.vatting import BatchBefore, MixingRule
from analysis.vatting.batch import notes_found
from analysis.vatting.from_parents import with_parents

NOTES = ("smoke", "plum")
NO_RULE = MixingRule(rule_sd=0.0)
POINTS = {"A/1": (40.0, 10.0), "B/1": (20.0, 30.0)}
ERRORS = {"A/1": (3.0, 2.0), "B/1": (4.0, 1.0)}


@dataclass
class Nosed:
    """As much of a profile as is asked."""

    estimates: pd.DataFrame
    posterior: Posterior | None = None
    descriptors: tuple[str, ...] = NOTES

    def as_profile(self) -> Profile:
        return cast(Profile, self)


def row(filling: str, note: str, estimate: float, se: float, **other: object) -> dict[str, object]:
    cask = filling.partition("/")[0]
    told: dict[str, object] = {
        **{"sample": f"D-{cask}", "cask": cask, "filling": filling, "descriptor": note},
        **{"estimate": estimate, "se": se, "component": 0, "last_nosed": pd.NaT},
        "drawn_on": pd.Timestamp("2025-01-10"),
    }
    return told | other


def nosed(posterior: Posterior | None = None, more: Sequence[dict[str, object]] = ()) -> Profile:
    rows = [
        row(filling, note, POINTS[filling][at], ERRORS[filling][at])
        for filling in POINTS
        for at, note in enumerate(NOTES)
    ]
    return Nosed(pd.DataFrame([*rows, *more]), posterior).as_profile()


def unnosed(*fillings: str, joint: JointForetold | None = None) -> Foretold:
    """Fillings of which nothing was foretold; of OLD/1 something was."""
    rows = [
        {**dict.fromkeys(COLUMNS, np.nan), "filling": name, "cask": name.split("/")[0]}
        | {"descriptor": note, "age_years": 12.5, "kind": "foretold", "sample": name}
        | {"estimate": 7.0 if name == "OLD/1" else np.nan}
        for name in fillings
        for note in NOTES
    ]
    return Foretold(pd.DataFrame(rows)[list(COLUMNS)], 5, joint=joint)


def given(
    *parts: tuple[str, float], filling: str = "N/1", years: Sequence[float] = (0.5, 0.25)
) -> pd.DataFrame:
    return pd.DataFrame(
        [
            {"filling": filling, "parent": name, "lpa": lpa, "years_since": since}
            for (name, lpa), since in zip(parts, years, strict=True)
        ]
    )


def figures(found: Foretold, filling: str = "N/1") -> pd.DataFrame:
    return found.of(filling).set_index("descriptor").loc[list(NOTES)]


def test_a_note_in_proportion_is_the_mean_by_pure_alcohol_with_its_error() -> None:
    parts = given(("A/1", 45.0), ("B/1", 15.0))
    found = with_parents(unnosed("N/1", "OLD/1"), nosed(), parts, NO_RULE)
    told = figures(found)
    for at, note in enumerate(NOTES):
        mean = 0.75 * POINTS["A/1"][at] + 0.25 * POINTS["B/1"][at]
        sd = np.hypot(0.75 * ERRORS["A/1"][at], 0.25 * ERRORS["B/1"][at])
        assert told.loc[note, "estimate"] == pytest.approx(mean)
        assert told.loc[note, "se"] == pytest.approx(sd)
        assert told.loc[note, "low"] == pytest.approx(mean - 1.96 * sd)
        assert told.loc[note, "high"] == pytest.approx(mean + 1.96 * sd)
    assert found.parents == {"N/1": ("D-A", "D-B")}
    assert told["kind"].tolist() == ["foretold"] * 2
    assert told["age_years"].tolist() == [12.5] * 2
    assert told["component"].tolist() == [0, 0]
    assert told["n_scores"].tolist() == [0, 0]
    assert told["reason"].isna().all()
    assert figures(found, "OLD/1")["estimate"].tolist() == [7.0, 7.0]
    assert found.rows["filling"].tolist() == ["N/1", "N/1", "OLD/1", "OLD/1"]


def test_a_potent_note_moves_by_the_slopes_of_the_rule() -> None:
    rule = MixingRule({"smoke": 0.5}, gains={"smoke": 1.2}, rule_sd=0.0)
    told = figures(with_parents(unnosed("N/1"), nosed(), given(("A/1", 45.0), ("B/1", 15.0)), rule))

    def mixed(a: float, b: float) -> float:
        return float(1.2 * (0.75 * a**2 + 0.25 * b**2) ** 0.5)  # three parts and one: all the gain

    assert told.loc["smoke", "estimate"] == pytest.approx(mixed(40.0, 20.0))
    slopes = (
        (mixed(40.001, 20.0) - mixed(39.999, 20.0)) / 0.002,
        (mixed(40.0, 20.001) - mixed(40.0, 19.999)) / 0.002,
    )
    assert told.loc["smoke", "se"] == pytest.approx(np.hypot(slopes[0] * 3.0, slopes[1] * 4.0))


def test_the_error_of_the_rule_is_borne_by_mixtures_alone() -> None:
    rule = MixingRule(rule_sd=1.5, bench_sd={"plum": 2.0})
    two = figures(with_parents(unnosed("N/1"), nosed(), given(("A/1", 3.0), ("B/1", 1.0)), rule))
    own = np.array([np.hypot(0.75 * 3.0, 0.25 * 4.0), np.hypot(0.75 * 2.0, 0.25 * 1.0)])
    assert two["se"].to_numpy() == pytest.approx(np.hypot(own, [1.5, 2.5]))
    one = given(("A/1", 3.0), years=(0.5,))
    assert figures(with_parents(unnosed("N/1"), nosed(), one, rule))["se"].tolist() == [3.0, 2.0]


def posterior() -> Posterior:
    own = np.array([[[9.0, 1.5], [1.5, 4.0]], [[16.0, -2.0], [-2.0, 1.0]]])
    return Posterior(
        ("D-A", "D-B"),
        NOTES,
        np.array([POINTS["A/1"], POINTS["B/1"]]),
        own,
        np.array([2.0, 0.5]),
        np.eye(2),
        0.0,
    )


def test_what_all_readings_share_moves_every_parent_at_once() -> None:
    """Of sums with shares of one, the shared error stays whole; own errors average out."""
    parts = given(("A/1", 30.0), ("B/1", 30.0))
    found = with_parents(unnosed("N/1"), nosed(posterior()), parts, NO_RULE)
    smoke = (9.0 + 16.0) / 4.0 + 2.0
    plum = (4.0 + 1.0) / 4.0 + 0.5
    assert figures(found)["se"].to_numpy() == pytest.approx(np.sqrt([smoke, plum]))
    assert found.joint is not None
    assert found.joint.own[0] == pytest.approx(
        np.array([[25.0 / 4.0, -0.5 / 4.0], [-0.5 / 4.0, 5.0 / 4.0]])
    )
    assert found.joint.mean[0] == pytest.approx([30.0, 20.0])
    assert found.joint.shared.shape == (1, 2, 0)


def test_mixed_fillings_stand_beside_those_foretold_otherwise() -> None:
    joint = JointForetold(
        ("N/1", "OLD/1"),
        ("plum", "smoke"),
        np.array([[1.0, 2.0], [3.0, 4.0]]),
        np.array([np.eye(2), 5.0 * np.eye(2)]),
        np.ones((2, 2, 3)),
    )
    parts = given(("A/1", 30.0), ("B/1", 30.0))
    before = unnosed("N/1", "OLD/1", joint=joint)
    found = with_parents(before, nosed(posterior()), parts, NO_RULE).joint
    assert found is not None
    assert found.fillings == ("OLD/1", "N/1")
    assert found.descriptors == ("plum", "smoke")
    assert found.mean.tolist() == [[3.0, 4.0], [20.0, 30.0]]
    assert found.own[0].tolist() == (5.0 * np.eye(2)).tolist()
    assert np.diag(found.own[1]) == pytest.approx([5.0 / 4.0, 25.0 / 4.0])
    assert found.shared[0].tolist() == np.ones((2, 3)).tolist()
    assert found.shared[1].tolist() == np.zeros((2, 3)).tolist()


@pytest.mark.parametrize(
    ("years", "said"),
    [((1.0, 0.2), None), ((0.2, 1.01), "1.0 years in its new wood are not in these figures")],
)
def test_what_lay_long_in_its_new_wood_says_so(
    years: tuple[float, float], said: str | None
) -> None:
    parts = given(("A/1", 3.0), ("B/1", 1.0), years=years)
    told = figures(with_parents(unnosed("N/1"), nosed(), parts, NO_RULE))
    assert told["reason"].tolist() == [said, said]


@pytest.mark.parametrize(
    ("parts", "fillings"),
    [
        (given(("A/1", 3.0), ("Z/1", 1.0)), ("N/1",)),  # nobody nosed Z
        (given(("A/1", 0.0), ("B/1", 0.0)), ("N/1",)),  # nothing went in
        (given(("A/1", 3.0), ("C/1", 1.0)), ("N/1",)),  # C: on one note only
        (given(("A/1", 3.0), ("E/1", 1.0)), ("N/1",)),  # E: no glass shared with the others
        (given(("A/1", 3.0), ("B/1", 1.0)), ("M/1",)),  # nobody asks for N
        (given(("A/1", 3.0), ("B/1", 1.0), filling="OLD/1"), ("OLD/1",)),  # foretold already
    ],
)
def test_nothing_is_mixed_of_what_is_not_known(
    parts: pd.DataFrame, fillings: tuple[str, ...]
) -> None:
    more = [
        row("C/1", "smoke", 10.0, 1.0),
        row("E/1", "smoke", 10.0, 1.0, component=1),
        row("E/1", "plum", 10.0, 1.0, component=1),
    ]
    before = unnosed(*fillings)
    assert with_parents(before, nosed(more=more), parts, NO_RULE) is before


def test_the_latest_draw_of_a_parent_counts_and_the_line_ends_at_both_ends() -> None:
    later = {"sample": "D-A2", "drawn_on": pd.Timestamp("2025-06-01")}
    more = [row("A/1", "smoke", 112.0, 3.0, **later), row("A/1", "plum", -6.0, 3.0, **later)]
    one = given(("A/1", 3.0), years=(0.5,))
    found = with_parents(unnosed("N/1"), nosed(more=more), one, NO_RULE)
    told = figures(found)
    assert found.parents == {"N/1": ("D-A2",)}
    assert told["estimate"].to_dict() == {"smoke": 100.0, "plum": 0.0}
    assert told["low"].to_dict() == {"smoke": pytest.approx(94.12), "plum": 0.0}
    assert told["high"].to_dict() == {"smoke": 100.0, "plum": pytest.approx(5.88)}


def test_what_was_found_in_a_batch_is_without_what_both_batches_share() -> None:
    more = [
        row("A/1", "tar", 120.0, 1.0),
        row("A/1", "peat", 9.0, np.nan),
        row("A/1", "wax", 9.0, 1.0, component=1),
    ]
    names = ("plum", "tar", "smoke", "peat", "wax")
    found = notes_found(nosed(more=more), "D-A", names)
    assert [(note.descriptor, note.estimate, note.sd) for note in found] == [
        ("plum", 10.0, 2.0),
        ("tar", 100.0, 1.0),
        ("smoke", 40.0, 3.0),
    ]
    shared = notes_found(nosed(posterior()), "D-A", ("smoke", "plum"))
    assert [note.sd for note in shared] == pytest.approx([np.sqrt(9.0 - 2.0), np.sqrt(4.0 - 0.5)])
    other = row("C/1", "smoke", 9.0, 1.0)  # not among the samples that were held together
    assert notes_found(nosed(posterior(), [other]), "D-C", ("smoke",))[0].sd == 1.0
    narrow = Nosed(pd.DataFrame([row("A/1", "smoke", 9.0, 1.0)]), posterior()).as_profile()
    (note,) = notes_found(narrow, "D-A", ("smoke",))
    assert note.sd == pytest.approx(0.1)  # never nothing: a tenth of what it was
    assert BatchBefore("L1", "Fen", (note,), sample="D-A").nosed
    assert not BatchBefore("L1", "Fen", (note,)).nosed
