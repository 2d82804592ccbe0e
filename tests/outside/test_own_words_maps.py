"""One map from different words, against FactoMineR, ade4, vegan and a published worked example.

The long tables, with what made them, are in french_fries_maps.json. Its 12 people stand in for
12 people with words of their own: the methods never look at the words.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.agreement.own_words import (
    ConsensusMap,
    assess_own_words,
    compromise,
    consensus_map,
    procrustes_fit,
)
from analysis.agreement.own_words.rv import rv_with_others
from tests.outside.real_panels import french_fries

FIGURES: Mapping[str, Any] = json.loads(
    (Path(__file__).parent / "french_fries_maps.json").read_text()
)
KINDS = ["scaled", "centred"]
NEAR = 1e-9

# Abdi & Valentin (2007), Multiple Factor Analysis, in Salkind (ed.), Encyclopedia of Measurement
# and Statistics: six wines by three experts, each in words of his own. E1 fruity, woody, coffee;
# E2 red fruit, roasted, vanillin, woody; E3 fruity, butter, woody.
WINES = np.array(
    [
        [1, 6, 7, 2, 5, 7, 6, 3, 6, 7], [5, 3, 2, 4, 4, 4, 2, 4, 4, 3],
        [6, 1, 1, 5, 2, 1, 1, 7, 1, 1], [7, 1, 2, 7, 2, 1, 2, 2, 2, 2],
        [2, 5, 4, 3, 5, 6, 5, 2, 6, 6], [3, 4, 4, 3, 5, 4, 5, 1, 7, 5],
    ],
    dtype=float,
)  # fmt: skip
EXPERTS = [WINES[:, :3], WINES[:, 3:7], WINES[:, 7:]]
STANDARD = [(x - x.mean(axis=0)) / x.std(axis=0) for x in EXPERTS]


@cache
def fries() -> pd.DataFrame:
    return french_fries(weeks=4)


def tables(kind: str) -> list[np.ndarray]:
    wanted, scores = FIGURES[kind], fries()
    found = []
    for person in wanted["people"]:
        own = scores[scores["assessor"] == person]
        wide = own.pivot_table(index="sample", columns="descriptor", values="score")
        values = wide.loc[wanted["samples"]].to_numpy()
        values = values[:, np.ptp(values, axis=0) > 0]
        values = values - values.mean(axis=0)
        found.append(values / values.std(axis=0) if kind == "scaled" else values)
    return found


@cache
def mapped(kind: str) -> ConsensusMap:
    return consensus_map(tables(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_consensus_map(kind: str) -> None:
    have, wanted = mapped(kind), FIGURES[kind]
    assert have.eigenvalues == pytest.approx(np.array(wanted["eigenvalues"]), rel=NEAR)
    assert have.first_eigenvalues == pytest.approx(np.array(wanted["first_eigenvalues"]), rel=NEAR)
    places = np.array(wanted["coordinates"])
    same_side = have.coordinates[:, :5] * np.sign(np.sum(places * have.coordinates[:, :5], axis=0))
    assert same_side == pytest.approx(places, rel=1e-7, abs=1e-9)
    assert have.tables[:, :5] == pytest.approx(np.array(wanted["tables"]), rel=1e-7)
    table_percent = 100.0 * have.tables / have.tables.sum(axis=0)
    assert table_percent[:, :5] == pytest.approx(np.array(wanted["table_percent"]), rel=1e-7)
    within = np.sum((have.partial - have.coordinates) ** 2, axis=0)[:, :5]
    share = 100.0 * within / within.sum(axis=0)
    assert share == pytest.approx(np.array(wanted["within_percent"]), rel=1e-7)


def test_the_row_furthest_out_lies_on_the_positive_side() -> None:
    for kind in KINDS:
        places = mapped(kind).coordinates
        assert np.all(places.max(axis=0) >= -places.min(axis=0))


def test_scaling_inside_is_the_same_as_before() -> None:
    inside = consensus_map(tables("centred"), scaled=True)
    assert inside.eigenvalues == pytest.approx(mapped("scaled").eigenvalues, rel=1e-10)


@pytest.mark.parametrize("kind", KINDS)
def test_rv(kind: str) -> None:
    have = compromise(tables(kind)).rv
    assert have == pytest.approx(np.array(FIGURES[kind]["rv"]), rel=NEAR)


@pytest.mark.parametrize("kind", KINDS)
def test_rv_by_chance(kind: str) -> None:
    """The standardised value of one pair, theirs over all rearrangements, ours over many."""
    wanted, (one, other, *_) = FIGURES[kind]["rv_test"], tables(kind)
    drawn = rv_with_others([one, other], permutations=20_000)[0]
    assert drawn.standardised == pytest.approx(wanted["rvstd"], abs=0.03)
    assert drawn.p == pytest.approx(wanted["p.value"], abs=0.02)  # theirs is an approximation


@pytest.mark.parametrize("kind", KINDS)
def test_statis(kind: str) -> None:
    have, wanted = compromise(tables(kind)), FIGURES[kind]["statis"]
    assert have.rv_eigenvalues == pytest.approx(np.array(wanted["rv_eigenvalues"]), rel=NEAR)
    unit = have.weights / np.linalg.norm(have.weights)
    assert unit == pytest.approx(np.array(wanted["unit_weights"]), rel=NEAR)
    assert have.weights == pytest.approx(np.array(wanted["weights"]), rel=NEAR)
    assert have.eigenvalues[:11] == pytest.approx(np.array(wanted["eigenvalues"]), rel=NEAR)
    assert have.nearness == pytest.approx(np.array(wanted["nearness"]), rel=NEAR)


def test_procrustes_where_the_reference_reached_the_top() -> None:
    have, wanted = procrustes_fit(tables("scaled")), FIGURES["scaled"]["procrustes"]
    assert have.consensus_percent == pytest.approx(wanted["consensus_percent"], rel=1e-10)
    # It stopped a little before the very top: its parts are good to six digits.
    for part in ("scaling", "sample_fit", "sample_residual", "table_total", "table_residual"):
        assert getattr(have, part) == pytest.approx(np.array(wanted[part]), rel=2e-6), part
    axes = len(have.table_total) * np.sum(have.consensus**2, axis=0)
    assert axes == pytest.approx(np.array(wanted["axes"]), rel=2e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_procrustes_where_the_reference_stopped_early(seed: int) -> None:
    """41.9615 by FactoMineR 2.7 (tests stop there); 41.9768177615 by numpy 2.4, 1,000 starts."""
    have = procrustes_fit(tables("centred"), seed=seed)
    early = FIGURES["centred"]["procrustes"]["consensus_percent"]
    assert early == pytest.approx(41.9614732352)
    assert have.consensus_percent == pytest.approx(41.97681776146, rel=1e-10)
    assert have.sample_fit.sum() == pytest.approx(have.consensus_percent, rel=1e-10)
    assert have.table_total.sum() == pytest.approx(100.0, rel=1e-10)


def test_procrustes_of_two() -> None:
    """vegan 2.6.4, protest: symmetric correlation of two tables; the share is (1 + r) / 2."""
    for kind in KINDS:
        have = procrustes_fit(tables(kind)[:2])
        wanted = FIGURES[kind]["pair"]["correlation"]
        assert 2.0 * have.consensus_percent / 100.0 - 1.0 == pytest.approx(wanted, rel=1e-9)


def test_experts_in_their_own_words() -> None:
    """Published 2.83 .36 .12 .03 .01 and 85 11 3 1 0 per cent; digits by FactoMineR 2.7."""
    have = consensus_map(EXPERTS, scaled=True)
    assert have.eigenvalues.round(2).tolist() == [2.83, 0.36, 0.12, 0.03, 0.01]
    assert have.percent.round().tolist() == [85, 11, 3, 1, 0]
    assert have.eigenvalues[:2] == pytest.approx([2.8348006721, 0.356859049121], rel=1e-10)
    assert have.first_eigenvalues == pytest.approx(
        [2.86259506325, 3.65108393435, 2.48048885389], rel=1e-10
    )
    first = [2.17215513205, -0.557017276576, -2.31766331634, -1.83255732796]
    assert -have.coordinates[:4, 0] == pytest.approx(first, rel=1e-10)


def test_experts_rv_and_statis() -> None:
    """The same wines: RV by FactoMineR 2.7, weights and compromise by ade4 1.7.22."""
    have = compromise(STANDARD)
    upper = [0.94913067243, 0.769111461955, 0.821072493407]
    assert have.rv[np.triu_indices(3, 1)] == pytest.approx(upper, rel=1e-10)
    assert have.weights / np.linalg.norm(have.weights) == pytest.approx(
        [0.583757794152, 0.594621465684, 0.552858164735], rel=1e-10
    )
    assert have.weights == pytest.approx([0.3371910668, 0.3434661574, 0.3193427758], rel=1e-9)
    assert have.eigenvalues[:5] == pytest.approx(
        [1.62825203932, 0.197798568365, 0.0665765632571, 0.0194612675518, 0.00737420663488],
        rel=1e-9,
    )
    centred = [0.9659689675, 0.7936447741, 0.840777722]
    assert compromise(EXPERTS).rv[np.triu_indices(3, 1)] == pytest.approx(centred, rel=1e-9)


def test_experts_procrustes() -> None:
    """The same wines, standardised and raw: FactoMineR 2.7."""
    have = procrustes_fit(STANDARD)
    assert have.consensus_percent == pytest.approx(92.5751831121, rel=1e-9)
    assert have.scaling == pytest.approx([1.05248027595, 0.935192347269, 1.02932290052], rel=1e-6)
    raw = procrustes_fit(EXPERTS)
    assert raw.consensus_percent == pytest.approx(93.195969448, rel=1e-9)
    assert raw.scaling == pytest.approx([1.03128900432, 1.01033581574, 0.960140511506], rel=1e-6)


def test_the_same_from_a_frame() -> None:
    """What `assess_own_words` says of the panel is what its parts say."""
    scores = fries().assign(
        word=lambda f: f["assessor"] + " " + f["descriptor"], scale_low=0, scale_high=15
    )
    found = assess_own_words(scores, scaled=True)
    assert found.n_words == 59
    (left_out,) = found.left_out_words
    assert (left_out.assessor, left_out.word) == ("79", "79 painty")
    eigenvalues = [axis.eigenvalue for axis in found.axes]
    assert eigenvalues == pytest.approx(FIGURES["scaled"]["eigenvalues"], rel=NEAR)
    weights = {part.assessor: part.weight / 12.0 for part in found.assessors}
    wanted = FIGURES["scaled"]
    assert [weights[name] for name in wanted["people"]] == pytest.approx(
        wanted["statis"]["weights"], rel=NEAR
    )
    assert found.second_opinion.consensus_percent == pytest.approx(
        wanted["procrustes"]["consensus_percent"], rel=NEAR
    )
