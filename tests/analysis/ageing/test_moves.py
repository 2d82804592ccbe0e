"""Notes moved from the draw to a day: what they become, and how sure that is."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.ageing import Cover, NotesOnDay, notes_on_day
from analysis.ageing.deciding import deciding
from analysis.ageing.learning import MOST_DRAWS, draws_to_learn_from
from analysis.profile import Profile
from analysis.target import Target, TargetLine, match_casks
from tests.houses.casks import Casks, given, profile_of

DAY = date(2026, 11, 25)
MADE = Casks(n=90, noise_sd=2.0)
NOTES = ("custard", "smoke", "slate")


@cache
def first_draws(seed: int, n: int = 90) -> pd.DataFrame:
    """The first draw of every cask, and half of the second ones."""
    return Casks(n=n, noise_sd=2.0).draws(seed)


def later(draws: pd.DataFrame, years: float) -> pd.DataFrame:
    """The casks so many years after their last draw, the truth of each note with them."""
    last = draws.drop_duplicates("filling", keep="last").reset_index(drop=True)
    grown, faded = last.copy(), 2.0 ** (-years / 20.0)
    for i, row in last.iterrows():
        ages = np.array([row["age_years"], row["age_years"] + years])
        less, more = given(ages, str(row["wood"]), int(row["fill_number"]))
        grown.loc[i, "custard"] = row["custard"] + more - less
    own = last["smoke"] - 60.0 * (last["phenol_ppm"] / 40.0) ** 0.5 * 2 ** (-last["age_years"] / 20)
    grown["smoke"] = own + (last["smoke"] - own) * faded
    grown["age_years"] = last["age_years"] + years
    return grown.assign(sample=grown["filling"])


def moved(draws: pd.DataFrame, stock: pd.DataFrame, seed: int = 2) -> NotesOnDay:
    profile = profile_of(draws, MADE.readings(draws, seed))
    return notes_on_day(profile, draws, stock, DAY, descriptors=NOTES)


def table(found: NotesOnDay, value: str) -> pd.DataFrame:
    rows = found.profile.estimates
    latest = [each.sample for each in found.moved.values()]
    wide = rows[rows["sample"].isin(latest)].pivot(
        index="filling", columns="descriptor", values=value
    )
    return wide[list(NOTES)]


@pytest.mark.slow
def test_on_the_day_of_the_draw_nothing_is_changed() -> None:
    draws = first_draws(3)
    found = moved(draws, later(draws, 0.0))
    before = profile_of(draws, MADE.readings(draws)).estimates
    latest = [each.sample for each in found.moved.values()]
    wide = before[before["sample"].isin(latest)].pivot(
        index="filling", columns="descriptor", values=["estimate", "se"]
    )
    for value in ("estimate", "se"):
        assert np.allclose(table(found, value), wide[value][list(NOTES)], atol=1e-9)
    assert all(each.years == 0.0 for each in found.moved.values())


@pytest.mark.parametrize("years", [pytest.param(2.0, marks=pytest.mark.slow), 4.0])
def test_four_years_on_the_truth_lies_where_it_is_said(years: float) -> None:
    """Six worlds: 95 % intervals cover, without a bias; as nosed they would not."""
    inside, off, stood = [], [], []
    for seed in range(6):
        draws = first_draws(seed)
        stock = later(draws, years)
        found = moved(draws, stock, seed)
        truth = stock.set_index("filling").loc[table(found, "se").index, list(NOTES)]
        error = table(found, "estimate") - truth
        inside.append((error.abs() < 1.96 * table(found, "se")).to_numpy())
        off.append(error[["custard", "smoke"]].mean().to_numpy())
        start = draws.drop_duplicates("filling", keep="last").set_index("filling")
        stood.append(
            (start.loc[truth.index, ["custard", "smoke"]] - truth[["custard", "smoke"]]).mean()
        )
    covered = np.concatenate(inside).mean(axis=0)
    assert (covered > 0.88).all(), covered
    assert (np.abs(np.mean(off, axis=0)) < 0.5).all()
    assert np.mean(stood, axis=0)[0] < -1.0
    assert np.mean(stood, axis=0)[1] > 0.5


@pytest.mark.slow
def test_what_is_added_to_the_error_grows_with_the_years() -> None:
    draws = first_draws(3)
    sds = [
        np.mean(list(moved(draws, later(draws, years)).added_sd.values()), axis=0)
        for years in (0.0, 1.0, 3.0)
    ]
    assert (sds[0] < 1e-3).all()
    assert (sds[1] < sds[2])[:2].all()


@pytest.mark.slow
def test_past_the_ages_nosed_it_moves_no_further_and_says_so() -> None:
    draws = first_draws(3)
    near, far = (moved(draws, later(draws, years)) for years in (2.0, 30.0))
    assert {each.cover for each in far.moved.values()} == {Cover.BEYOND}
    assert Cover.MODEL in {each.cover for each in near.moved.values()}
    assert (table(far, "se") > table(near, "se")).to_numpy().all()
    oldest = draws.groupby("wood")["age_years"].max().max()
    most = max(given(np.array([oldest + 3.0]), wood, 1)[0] for wood in ("barrel", "new oak"))
    assert table(far, "estimate")["custard"].max() < 8.0 + most + 15.0


@pytest.mark.slow
def test_a_cask_of_poor_records_is_moved_as_its_kind_with_a_word() -> None:
    draws = first_draws(3)
    stock = later(draws, 3.0)
    rich = moved(draws, stock)
    poor_rows = stock.copy()
    poor_rows.loc[0, ["phenol_ppm", "fill_abv"]] = np.nan
    poor_rows.loc[0, "make"] = None
    poor = moved(draws, poor_rows)
    name = str(stock.loc[0, "filling"])
    assert poor.moved[name].cover in {Cover.KIND, Cover.BEYOND}
    assert (poor.added_sd[name] >= rich.added_sd[name] - 1e-9)[:2].all()
    assert poor.added_sd[name][0] > 0.0


def test_without_any_model_notes_stand_and_are_less_sure_each_year() -> None:
    draws = first_draws(3).head(4)
    one, three = (moved(draws, later(draws, years)) for years in (1.0, 3.0))
    assert {each.cover for each in three.moved.values()} == {Cover.NONE}
    assert "Only" in three.reasons["custard"]
    assert np.allclose(table(one, "estimate"), table(three, "estimate"))
    assert (table(one, "se") < table(three, "se")).to_numpy().all()


@pytest.mark.slow
def test_a_large_house_learns_from_some_of_its_draws() -> None:
    draws = first_draws(1, 900)
    profile = profile_of(draws, MADE.readings(draws, 11))
    some = draws_to_learn_from(draws, profile.estimates)
    assert MOST_DRAWS * 0.9 <= len(some) <= MOST_DRAWS
    assert (some.groupby("filling").size() > 1).sum() > 100
    stock = later(draws, 3.0)
    found = notes_on_day(profile, draws, stock, DAY, descriptors=("custard",))
    known = [name for name, each in found.moved.items() if each.cover is Cover.MODEL]
    outside = stock[~stock["filling"].isin(some["filling"]) & stock["filling"].isin(known)]
    outside = outside.set_index("filling")
    told = found.profile.estimates
    latest = {each.sample for each in found.moved.values()}
    told = told[(told["descriptor"] == "custard") & told["sample"].isin(latest)]
    told = told.set_index("filling").loc[outside.index]
    error = told["estimate"] - outside["custard"]
    assert (error.abs() < 1.96 * told["se"]).mean() > 0.9
    # What a fit to 900 casks is off by itself is not of the move.
    before = moved_error(profile, draws, outside.index)
    last = draws.drop_duplicates("filling", keep="last").set_index("filling")
    growth = float((outside["custard"] - last.loc[outside.index, "custard"]).mean())
    assert abs(error.mean() - before) < 0.2 * growth


def moved_error(profile: Profile, draws: pd.DataFrame, fillings: pd.Index) -> float:
    """What the panel's own estimates of some casks' last draws are off by."""
    last = draws.drop_duplicates("filling", keep="last").set_index("filling").loc[fillings]
    rows = profile.estimates
    found = rows[rows["descriptor"] == "custard"].set_index("sample").loc[last["sample"]]
    return float(np.mean(found["estimate"].to_numpy() - last["custard"].to_numpy()))


@pytest.mark.slow
def test_match_ranks_what_the_casks_will_be() -> None:
    """A young cask that grows into the target comes first four years on, not today."""
    draws = first_draws(3)
    young = draws[(draws["wood"] == "barrel") & (draws["fill_number"] == 1)]
    row = young.sort_values("age_years").iloc[0]
    today, then = (moved(draws, later(draws, years)) for years in (0.0, 4.0))
    growth = given(np.array([row["age_years"], row["age_years"] + 4.0]), "barrel", 1)
    aim = table(today, "estimate").loc[str(row["filling"]), "custard"] + growth[1] - growth[0]
    target = Target("later", (TargetLine("custard", float(aim), 3.5),))
    chance = [
        next(
            part.probability
            for part in match_casks(each.profile, target).casks
            if part.cask == row["cask"]
        )
        for each in (today, then)
    ]
    assert chance[0] < 0.1
    assert chance[1] > 0.5


def test_a_draw_decides_where_the_answer_was_another_as_it_was_nosed() -> None:
    mean, whole, ends = (
        np.full((4, 1), 30.0),
        np.full((4, 1), 6.0),
        (np.array([26.0]), np.array([34.0])),
    )
    grown, years = np.array([[8.0], [0.5], [8.0], [8.0]]), np.array([5.8, 5.8, 0.5, 5.8])
    mean[3] = 80.0
    told = deciding(mean, whole, grown, 0.2 * whole, years, ends)
    assert told.tolist() == [True, False, False, False]
