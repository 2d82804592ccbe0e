"""Curves and windows in made-up stocks whose truth is known."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.ageing import (
    Ageing,
    AgeingSettings,
    Asked,
    Mark,
    Outside,
    estimate_ageing,
    notes_on_day,
)
from analysis.errors import InputError, TooLittleError
from analysis.target import Target, TargetLine
from panel.words.ageing_words import ageing_lines, cask_lines
from tests.houses.casks import TIME_CONSTANT, Casks, given, profile_of

AS_OF = date(2026, 11, 25)
MADE = Casks(n=90, noise_sd=2.0)
WIDE = Target("Anything", (TargetLine("custard", 50.0, 60.0),))
NEVER = Target("Nowhere", (TargetLine("custard", 95.0, 1.0),))


@cache
def draws() -> pd.DataFrame:
    return MADE.draws(3)


def stock(draws: pd.DataFrame) -> pd.DataFrame:
    """The casks half a year after their last draw, and one never nosed."""
    last = draws.drop_duplicates("filling", keep="last").reset_index(drop=True)
    last["age_years"] += 0.5
    new = last.head(1).assign(cask="new", filling="new/1", age_years=8.0, wood="barrel")
    new = new.assign(fill_number=1, previous="bourbon")
    return pd.concat([last, new], ignore_index=True).assign(sample=lambda f: f["filling"])


def told(asked: Asked | None = None, *targets: Target, **changed: float) -> Ageing:
    frame = draws()
    settings = replace(AgeingSettings(), **changed)  # type: ignore[arg-type]
    return estimate_ageing(
        profile_of(frame, MADE.readings(frame)),
        frame,
        stock=stock(frame),
        as_of=AS_OF,
        targets=targets,
        asked=asked or Asked(),
        settings=settings,
    )


@cache
def styles() -> Ageing:
    return told(Asked(wood="barrel", descriptors=("custard",)))


@pytest.mark.slow
def test_styles_grow_as_their_wood_truly_gives() -> None:
    """Intervals of the average cask over six worlds; each cover 95 % at least."""
    inside: list[bool] = []
    for seed in range(6):
        frame = MADE.draws(seed)
        found = estimate_ageing(
            profile_of(frame, MADE.readings(frame, seed)),
            frame,
            stock=stock(frame),
            as_of=AS_OF,
            asked=Asked(wood="barrel", descriptors=("custard",)),
        )
        for curve in found.curves:
            for point in curve.points:
                true = 8.0 + given(np.array([point.age_years]), "barrel", curve.fill_number)[0]
                inside.append(bool(point.low <= true <= point.high))
                assert point.cask_low <= point.low <= point.high <= point.cask_high
    assert np.mean(inside) >= 0.92


@pytest.mark.slow
def test_nothing_beyond_the_ages_nosed_is_drawn_as_known() -> None:
    frame = draws()
    ages = frame.loc[frame["wood"] == "barrel", "age_years"]
    more = min(3.0, 0.25 * (ages.max() - ages.min()))
    for curve in styles().curves:
        for point in curve.points:
            inside = ages.min() <= point.age_years <= ages.max()
            near = ages.min() - more <= point.age_years <= ages.max() + more
            want = Mark.NOSED if inside else Mark.RECKONED if near else Mark.BEYOND
            assert point.mark == want
    assert {p.mark for p in styles().curves[0].points} == set(Mark)


@pytest.mark.slow
def test_a_style_nosed_on_few_casks_is_listed_not_drawn() -> None:
    found = told(Asked(descriptors=("slate",)))
    counts = draws().groupby(["make", "wood", "fill_number"])["cask"].nunique()
    assert len(found.curves) == (counts >= 3).sum()
    thin = [name for name in found.left_out if "fill" in name]
    assert len(thin) == (counts < 3).sum()
    assert found.left_out[thin[0]].startswith("nosed on fewer than 3 of its casks")


def test_a_cask_of_its_own_has_dates_readings_and_narrows_with_them() -> None:
    twice = draws().groupby("cask").size()
    name = str(twice.index[twice == 2][0])
    found = told(Asked(casks=(name, "new"), descriptors=("custard",)))
    own, new = (next(c for c in found.curves if c.cask == n) for n in (name, "new"))
    assert len(own.readings) == 2
    assert new.readings == ()
    assert new.note is not None
    assert "never nosed" in new.note
    at_now = [min(c.points, key=lambda p: abs((p.on or AS_OF) - AS_OF)) for c in (own, new)]
    assert at_now[0].high - at_now[0].low < at_now[1].high - at_now[1].low
    last = own.points[-1].on
    assert last is not None
    assert abs((last - date(2029, 11, 25)).days) <= 1


@pytest.mark.slow
def test_a_forecast_of_casks_covers_what_comes() -> None:
    """Half a year to three and a half after the last draw, 95 % intervals, four worlds."""
    inside = []
    for seed in range(4):
        frame = MADE.draws(seed)
        first = frame[frame["sample"].str.endswith("-1")]
        later = frame[~frame["sample"].isin(first["sample"])]
        readings = MADE.readings(first, seed)
        casks = later.assign(sample=later["filling"])
        found = estimate_ageing(
            profile_of(first, readings),
            first,
            stock=casks,
            as_of=AS_OF,
            asked=Asked(casks=tuple(later["cask"])),
        )
        for curve in found.curves:
            true = float(later.loc[later["cask"] == curve.cask, curve.descriptor].iloc[0])
            now = min(curve.points, key=lambda p: abs((p.on or AS_OF) - AS_OF))
            inside.append(now.low - 0.5 <= true <= now.high + 0.5)
    assert 0.93 <= np.mean(inside) <= 0.99


@pytest.mark.slow
def test_a_target_that_everything_meets_is_open_throughout() -> None:
    found = told(Asked(wood="barrel"), WIDE).windows
    window = next(w for w in found if w.cask == "new")
    assert window.now_chance == window.best_chance == 1.0
    assert (window.opens, window.closes) == (AS_OF, date(2029, 11, 25))
    assert window.note == "it may go on"
    assert window.n_draws == 0


@pytest.mark.slow
def test_a_target_that_nothing_meets_has_a_reason() -> None:
    for window in told(Asked(wood="barrel"), NEVER).windows:
        assert window.opens is None
        assert window.reason is not None
        if window.best_chance is not None:
            assert window.reason == "the chance never reaches 0.50"


def test_the_chance_is_that_of_the_curve_where_one_note_is_asked() -> None:
    """One descriptor: the chance from joint draws against the normal of the curve's interval."""
    from statistics import NormalDist

    target = Target("T", (TargetLine("custard", 30.0, 5.0),))
    asked = Asked(casks=("new", "c4", "c9"), descriptors=("custard",))
    found = told(asked, target)
    for window in found.windows:
        curve = next(c for c in found.curves if c.cask == window.cask)
        now = min(curve.points, key=lambda p: abs((p.on or AS_OF) - AS_OF))
        if now.low <= 0.0:
            continue
        sd = (now.high - now.low) / 2 / NormalDist().inv_cdf(0.975)
        gap = abs(((now.on or AS_OF) - AS_OF).days)
        curve_now = NormalDist(now.estimate, sd)
        want = curve_now.cdf(35.0) - curve_now.cdf(25.0)
        assert gap < 120
        assert window.now_chance == pytest.approx(want, abs=0.06)


@pytest.mark.slow
def test_the_window_is_where_the_truth_goes_through_the_target() -> None:
    """First-fill barrels of four years reach 25 points on a date that is known."""
    crossing = -TIME_CONSTANT * np.log1p(-(25.0 - 8.0) / 34.0)
    target = Target("Twenty-five", (TargetLine("custard", 25.0, 6.0),))
    years = []
    for seed in range(3):
        frame = MADE.draws(seed)
        young = stock(frame)
        young.loc[young["cask"] == "new", "age_years"] = 4.0
        found = estimate_ageing(
            profile_of(frame, MADE.readings(frame, seed)),
            frame,
            stock=young,
            as_of=AS_OF,
            targets=[target],
            asked=Asked(casks=("new",)),
        ).windows[0]
        assert found.best_on is not None
        assert found.opens is not None
        assert found.opens <= found.best_on
        years.append((found.best_on - AS_OF).days / 365.25)
    assert np.mean(years) == pytest.approx(crossing - 4.0, abs=0.7)


@pytest.mark.slow
def test_a_cask_too_old_for_its_wood_is_refused() -> None:
    frame = draws()
    old = stock(frame)
    old.loc[old["cask"] == "new", "age_years"] = 30.0
    found = estimate_ageing(
        profile_of(frame, MADE.readings(frame)),
        frame,
        stock=old,
        as_of=AS_OF,
        targets=[WIDE],
        asked=Asked(casks=("new",)),
    )
    assert found.windows[0].best_chance is None
    assert "at 30.0 years it is outside what is known of barrel" in str(found.windows[0].reason)
    curve = found.curves[0]
    assert {point.mark for point in curve.points} == {Mark.BEYOND}
    assert curve.outside is Outside.OLD
    assert "too old" in "\n".join(cask_lines(found, [curve]))


@pytest.mark.slow
def test_a_young_cask_is_not_called_too_old() -> None:
    """Casks of one year, where the youngest of their wood was nosed at many more."""
    frame = draws().copy()
    barrels = frame["wood"] == "barrel"
    frame.loc[barrels, "age_years"] += 9.0
    made = stock(frame)
    made.loc[made["cask"] == "new", "age_years"] = 1.0
    found = estimate_ageing(
        profile_of(frame, MADE.readings(frame)),
        frame,
        stock=made,
        as_of=AS_OF,
        asked=Asked(casks=("new",)),
    )
    curve = found.curves[0]
    assert curve.ages_known is not None
    assert curve.ages_known[0] > 4.0
    assert curve.outside is Outside.YOUNG
    said = "\n".join(cask_lines(found, [curve]))
    assert "too young" in said
    assert "too old" not in said


@pytest.mark.slow
def test_a_window_is_cut_where_knowledge_ends() -> None:
    frame = draws()
    ages = frame.loc[frame["wood"] == "barrel", "age_years"]
    limit = ages.max() + min(3.0, 0.25 * (ages.max() - ages.min()))
    old = stock(frame)
    old.loc[old["cask"] == "new", "age_years"] = limit - 1.0
    found = estimate_ageing(
        profile_of(frame, MADE.readings(frame)),
        frame,
        stock=old,
        as_of=AS_OF,
        targets=[WIDE],
        asked=Asked(casks=("new",)),
    ).windows[0]
    assert found.looked_until is not None
    assert abs((found.looked_until - AS_OF).days - 365) <= 31
    assert found.note == "it may go on: nothing is known of such an age"


@pytest.mark.slow
def test_beside_its_curve_stands_what_a_match_goes_by() -> None:
    frame = draws()
    profile = profile_of(frame, MADE.readings(frame))
    found = told(Asked(casks=("new", "c4")), WIDE).curves
    moved = notes_on_day(profile, frame, stock(frame), AS_OF, descriptors=["custard"])
    rows = moved.profile.estimates
    sample = moved.moved["c4/1"].sample
    there = rows[(rows["sample"] == sample) & (rows["descriptor"] == "custard")]
    of = {(curve.cask, curve.descriptor): curve.found_now for curve in found}
    assert of["c4", "custard"] == pytest.approx(float(there["estimate"].iloc[0]))
    assert of["new", "custard"] is None
    assert all(one is None for (_, note), one in of.items() if note != "custard")


@pytest.mark.slow
def test_a_line_never_scored_gives_a_reason() -> None:
    target = Target("T", (TargetLine("custard", 30.0, 5.0), TargetLine("violets", 10.0, 5.0)))
    window = told(Asked(casks=("new",)), target).windows[0]
    assert window.reason == "no curve of violets: never scored"


@pytest.mark.slow
def test_spirit_of_several_woods_has_no_curve() -> None:
    frame = draws()
    rest = stock(frame).assign(years_before=0.0)
    rest.loc[rest["cask"] == "new", "years_before"] = 5.0
    found = estimate_ageing(
        profile_of(frame, MADE.readings(frame)),
        frame,
        stock=rest,
        as_of=AS_OF,
        asked=Asked(casks=("new",)),
    )
    assert found.left_out["cask new"] == "spirit that lay in more than one wood"
    assert found.curves == ()


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(wood="chestnut"), r"no wood 'chestnut'"),
        (Asked(make="Hihg"), r"no make 'Hihg'\. The nearest are High"),
        (Asked(casks=("c400",)), r"no cask 'c400' in stock"),
        (Asked(descriptors=("custerd",)), r"'custerd'\. The nearest are custard"),
    ],
)
def test_a_name_that_is_not_there_is_refused_with_the_nearest(asked: Asked, words: str) -> None:
    with pytest.raises(InputError, match=words):
        told(asked)


def test_too_few_casks_are_refused() -> None:
    frame = Casks(n=5).draws()
    with pytest.raises(TooLittleError, match="Only 5 casks"):
        estimate_ageing(
            profile_of(frame, Casks().readings(frame)), frame, stock=stock(frame), as_of=AS_OF
        )


@pytest.mark.slow
def test_without_casks_nosed_again_and_from_one_session_it_is_said() -> None:
    made = Casks(again=0.0)
    frame = made.draws()
    found = estimate_ageing(
        profile_of(frame, made.readings(frame)), frame, stock=stock(frame), as_of=AS_OF
    )
    assert any(said.startswith("Hardly a cask was drawn again") for said in found.warnings)
    assert any(said.startswith("All this is from one session") for said in found.warnings)
    assert {curve.evidence for curve in found.curves} == {"casks of different ages"}


@pytest.mark.slow
def test_the_same_seed_gives_the_same_windows() -> None:
    target = Target("T", (TargetLine("custard", 30.0, 6.0), TargetLine("slate", 30.0, 6.0)))
    asked = Asked(casks=("new", "c4", "c9"))
    assert told(asked, target).windows == told(asked, target).windows


@pytest.mark.slow
def test_the_document_is_plain() -> None:
    target = Target("T", (TargetLine("custard", 30.0, 6.0),))
    document = json.loads(json.dumps(told(None, target).to_dict(), allow_nan=False))
    assert {"curves", "windows", "evidence", "as_of"} <= set(document)
    assert document["windows"][0]["best_chance"] >= document["windows"][-1]["now_chance"]
    assert {"again", "ages", "used", "sentence"} <= set(document["evidence"][0])
    for window in document["windows"]:
        assert window["opens"] or window["reason"]


@pytest.mark.slow
def test_a_direction_is_said_of_what_age_moves_and_of_nothing_else() -> None:
    """Custard grows by its wood; every curve rises or falls, and only that is no claim."""
    found = styles()
    assert found.moved_by_age == ("custard",)
    assert "up: custard" in " ".join(ageing_lines(found))
    none = " ".join(ageing_lines(replace(found, moved_by_age=())))
    assert "up: custard" not in none
    assert "nothing moves for certain" in none
    assert told(Asked(casks=("new",))).moved_by_age == ()
