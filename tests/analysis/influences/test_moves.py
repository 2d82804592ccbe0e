"""What may be said to move a note: the tests, the claims over all of them, the words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.influences.factor_tests import FactorTest, FactorTester
from analysis.influences.factors import Factor
from analysis.influences.moves import claims
from analysis.influences.power import Power
from analysis.influences.result import Effect
from analysis.influences.words import note_sentence

WELL = Power(0.6, 0.6, 0.9, 4.0)
HARDLY = Power(0.05, 0.05, 0.9, 9.0)


def parcels(n_batches: int = 12, in_each: int = 4, makes: int = 6) -> pd.DataFrame:
    """Fillings in batches: wood differs within a batch, age and peat between them."""
    n = n_batches * in_each
    batch = np.repeat(np.arange(n_batches), in_each)
    make = batch % makes
    return pd.DataFrame(
        {
            "sample": [f"s{i}" for i in range(n)],
            "cask": [f"c{i}" for i in range(n)],
            "filling": [f"c{i}/1" for i in range(n)],
            "wood": np.where(np.arange(n) % 2, "butt", "barrel"),
            "fill_number": 1,
            "fill_abv": 63.5,
            "age_years": 4.0 + batch,
            "phenol_ppm": np.array([1.0, 3.0, 8.0, 15.0, 25.0, 40.0])[make % 6],
            "make": [f"M{m}" for m in make],
            "previous": "bourbon",
            "held": "bourbon",
            "warehouse": "Loft",
            "batch": [f"b{b}" for b in batch],
        }
    )


def found(reading: np.ndarray, draws: pd.DataFrame, noise: float = 4.0) -> dict[str, FactorTest]:
    tester = FactorTester(draws)
    return {t.factor: t for t in tester.test("tar", reading, np.full(len(draws), noise))}


def test_without_batches_the_f_is_that_of_least_squares() -> None:
    """A classical check: one factor, every filling a batch of its own, equal noise (scipy)."""
    draws = parcels(40, 1).assign(phenol_ppm=1.0, make="M0", age_years=8.0)
    draws["batch"] = draws["filling"]
    y = np.random.default_rng(3).normal(30.0, 6.0, len(draws))
    test = found(y, draws, noise=1e-9)["wood"]
    two = [y[draws["wood"] == wood] for wood in ("barrel", "butt")]
    assert test.f == pytest.approx(stats.f_oneway(*two).statistic, rel=1e-3)
    assert test.p == pytest.approx(stats.f_oneway(*two).pvalue, rel=1e-3)
    assert (test.df_num, test.df_den) == (1, 38.0)


def test_wood_is_held_against_casks_and_age_against_batches() -> None:
    draws = parcels()
    y = np.random.default_rng(1).normal(30.0, 5.0, len(draws))
    tests = found(y, draws)
    assert tests["wood"].df_den == 48 - 12 - 1
    assert tests["age"].df_den == 12 - 3
    assert tests["make"].df_den == 12 - (1 + 1 + 1 + 5)


@pytest.mark.slow
def test_twelve_casks_of_one_batch_are_one_witness_on_age() -> None:
    """Batches that differ by 6 points and casks by 1: casks taken singly would find an age."""
    draws, held = parcels(8, 12), 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        y = 30.0 + rng.normal(0.0, 6.0, 8).repeat(12) + rng.normal(0.0, 1.0, len(draws))
        p = found(y, draws, noise=0.5)["age"].p
        assert p is not None
        held += p < 0.05
    assert held <= 5


def test_a_wood_worth_telling_is_found_and_its_p_is_small() -> None:
    draws = parcels(24, 5)
    butts = (draws["wood"] == "butt").to_numpy()
    y = np.random.default_rng(5).normal(30.0, 6.0, len(draws)) + 8.0 * butts
    p = found(y, draws)["wood"].p
    assert p is not None
    assert p < 1e-5


def test_peat_wants_six_makes() -> None:
    draws = parcels(makes=5)
    test = found(np.zeros(len(draws)) + np.arange(len(draws)), draws)["phenols"]
    assert test.p is None
    assert test.reason is not None
    assert "5 makes" in test.reason


@pytest.mark.parametrize(
    ("tried", "held"),
    [
        # Benjamini & Hochberg (1995), table of 15 tests, held at .05: the first four.
        (
            [
                *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459),
                *(0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000),
            ],
            4,
        ),
        ([0.051], 0),
        ([0.05], 1),
        ([0.04, 0.05], 2),
        ([], 0),
    ],
)
def test_claims_are_those_of_benjamini_and_hochberg(tried: list[float], held: int) -> None:
    """The table of 15 is the paper's example (from memory)."""
    some = [FactorTest(f"tar {i}", Factor.WOOD, 1.0, 1, 9.0, p) for i, p in enumerate(tried)]
    made = claims([*some, FactorTest("tar", Factor.AGE, reason="alike")])
    assert sum(test.holds for test in made.tests) == held
    assert made.level == pytest.approx(1.0 - 0.05 * (held or 1) / max(len(tried), held or 1))


def effect(factor: Factor, level: str, size: float, n: int = 12, *, holds: bool = True) -> Effect:
    return Effect("tar", factor, level, "barrel", size, size - 2.0, size + 2.0, n, holds=holds)


def said(effects: list[Effect], power: Power, p: float, n_casks: int = 80) -> str:
    made = claims([FactorTest("tar", Factor.WOOD, 9.0, 1, 40.0, p)], {"tar": 6.0})
    return note_sentence("tar", effects, power, made, n_casks)


def test_only_what_holds_is_said_to_move_a_note() -> None:
    some = [effect(Factor.WOOD, "butt", 7.0), effect(Factor.AGE, "4 to 12 years", 9.0, holds=False)]
    assert said(some, WELL, 0.001).startswith("tar moves with butt (+7.0 against barrel). A cask")
    assert said([replace(some[0], holds=False)], WELL, 0.2).startswith("Nothing recorded moves tar")


def test_what_is_hardly_foretold_is_not_said_to_move() -> None:
    words = said([effect(Factor.WOOD, "butt", 7.0)], HARDLY, 0.001)
    assert "moves with" not in words
    assert words.startswith("Wood can be seen in tar on the whole.")


def test_no_headline_rests_on_one_cask() -> None:
    words = said([effect(Factor.WOOD, "butt", 9.0, n=1)], WELL, 0.001)
    assert words.startswith("tar moves with wood as a whole.")


def test_few_casks_cannot_tell_yet_and_say_how_many_would_do() -> None:
    words = said([], WELL, 0.4, n_casks=30)
    assert words.startswith("What moves tar cannot be told yet from 30 casks: about 60 would do.")


@pytest.mark.parametrize(("makes", "judged"), [(1, False), (2, False), (5, False), (6, True)])
def test_of_few_peats_the_makes_own_is_not_told_from_its_peat(makes: int, judged: bool) -> None:
    draws = parcels(makes=makes)
    reading = 5.0 * (np.arange(len(draws)) // 4 % makes) + np.random.default_rng(4).normal(
        0.0, 1.0, len(draws)
    )
    tested = found(reading, draws).get("make")
    assert (tested is not None and tested.p is not None) is judged
    if 1 < makes < 6:
        assert tested is not None
        assert f"{makes} makes of different phenols" in str(tested.reason)


def test_makes_of_one_peat_are_told_apart() -> None:
    draws = parcels(makes=3).assign(phenol_ppm=1.0)
    reading = 5.0 * (np.arange(len(draws)) // 4 % 3) + np.random.default_rng(4).normal(
        0.0, 1.0, len(draws)
    )
    assert found(reading, draws)["make"].holds is False
    assert (found(reading, draws)["make"].p or 1.0) < 0.001


def peated_butts() -> pd.DataFrame:
    """Every second make peated, and in butts; nobody can tell wood from peat and make."""
    draws = parcels(24, 3, makes=2).assign(batch=[f"b{n // 3}" for n in range(72)])
    peated = draws["make"] == "M1"
    draws["age_years"] = 4.0 + (np.repeat(np.arange(24), 3) // 2)
    draws["wood"] = np.where(peated, "butt", "barrel")
    draws["phenol_ppm"] = np.where(peated, 30.0, 1.0)
    return draws


def of_set(tests: list[FactorTest]) -> FactorTest:
    return next(test for test in tests if test.together)


def test_what_goes_together_is_tested_together_and_nothing_of_it_alone() -> None:
    draws = peated_butts()
    rng = np.random.default_rng(4)
    y = 30.0 + rng.normal(0.0, 5.0, 72) + np.where(draws["wood"] == "butt", 20.0, 0.0)
    tests = list(FactorTester(draws).test("tar", y, np.full(72, 4.0)))
    assert of_set(tests).together == (Factor.WOOD, Factor.PHENOLS, Factor.MAKE)
    alone = {test.factor: test for test in tests if not test.together}
    assert all(alone[name].p is None for name in of_set(tests).together)
    made = claims(tests, {"tar": 6.0})
    words = note_sentence("tar", [], WELL, made, 80)
    assert words.startswith(
        "tar moves with wood, phenols or make (which cannot be told apart here)."
    )
    assert "can be seen in tar" in note_sentence("tar", [], HARDLY, made, 80)


def test_woods_that_makes_fill_are_not_said_to_move_a_note_alone() -> None:
    draws = parcels(24, 3, makes=8)
    draws["phenol_ppm"] = 1.0
    draws["wood"] = np.where(draws["make"].str[1:].astype(int) % 2, "butt", "barrel")
    y = np.random.default_rng(5).normal(30.0, 4.0, 72)
    y += np.where(draws["wood"] == "butt", 15.0, 0.0)
    tests = list(FactorTester(draws).test("tar", y, np.full(72, 4.0)))
    assert of_set(tests).together == (Factor.WOOD, Factor.MAKE)
    assert of_set(tests).p is not None
    assert of_set(tests).p < 1e-4  # type: ignore[operator]
    wood = next(test for test in tests if test.factor is Factor.WOOD and not test.together)
    assert wood.reason == "cannot be told from make in the casks nosed"


def test_age_keeps_its_power_where_wood_and_peat_go_together() -> None:
    """Without smoke the fading of the peat is no rival of age: F as by least squares without it."""
    draws = peated_butts()
    draws["batch"] = draws["filling"]
    draws["age_years"] = 4.0 + np.random.default_rng(1).uniform(0.0, 10.0, 72)
    age = -np.expm1(-draws["age_years"].to_numpy() / 8.0)
    y = 20.0 + 30.0 * age + np.random.default_rng(6).normal(0.0, 6.0, 72)
    tests = list(FactorTester(draws).test("tar", y, np.full(72, 1e-9)))
    x = np.column_stack([np.ones(72), draws["wood"] == "butt", age]).astype(float)
    beta, left, *_ = np.linalg.lstsq(x, y, rcond=None)
    sure = np.linalg.inv(x.T @ x)[2, 2] * left[0] / 69
    found = next(test for test in tests if test.factor is Factor.AGE)
    assert found.f == pytest.approx(beta[2] ** 2 / sure, rel=0.05)
