"""Blind codes: nothing to read from them, nothing to confuse on one tray."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panel.session.codes import (
    CodesError,
    CodeSharing,
    clash,
    codes_to_avoid,
    draw_codes,
    draw_seed,
    draw_tray_codes,
    generator,
    is_plain,
    number_forms,
    plain_codes,
    shuffled,
)
from tests.examples import examples

seeds = st.integers(0, 2**128 - 1)
UPSIDE_DOWN = set("01689")
RUNS = {"012", "123", "234", "345", "456", "567", "678", "789"}


def assert_tray(codes: list[str] | tuple[str, ...]) -> None:
    """Check the rules as they are said, by other means than the code's."""
    for code in codes:
        assert 100 <= int(code) <= 999
        assert max(Counter(code).values()) == 1
        assert code not in RUNS
        assert code[::-1] not in RUNS
        assert set(code) - UPSIDE_DOWN
    for one, other in combinations(codes, 2):
        assert sum(a != b for a, b in zip(one, other, strict=True)) >= 2
        swapped = {one[1] + one[0] + one[2], one[0] + one[2] + one[1], one[2] + one[1] + one[0]}
        assert other not in swapped


@settings(deadline=None, max_examples=examples(60))
@given(seeds, st.integers(0, 40))
def test_codes_keep_the_rules(seed: int, n: int) -> None:
    codes = draw_codes(n, generator(seed, "codes"))
    assert len(codes) == n
    assert_tray(codes)


@settings(deadline=None, max_examples=examples(60))
@given(seeds, st.sets(st.sampled_from(plain_codes()), max_size=300), st.integers(1, 12))
def test_avoided_codes_never_come(seed: int, avoid: set[str], n: int) -> None:
    assert not avoid.intersection(draw_codes(n, generator(seed, "codes"), avoid))


@settings(deadline=None, max_examples=examples(60))
@given(seeds, st.integers(1, 12), st.integers(1, 12))
def test_a_second_flight_fits_the_first(seed: int, first: int, second: int) -> None:
    rng = generator(seed, "codes")
    taken = draw_codes(first, rng)
    assert_tray([*taken, *draw_codes(second, rng, taken_per_tray=taken)])


@settings(deadline=None, max_examples=examples(30))
@given(seeds, st.integers(1, 15), st.integers(1, 10))
def test_each_assessor_own_codes(seed: int, assessors: int, glasses: int) -> None:
    found = draw_tray_codes(
        assessors, glasses, generator(seed, "codes"), sharing=CodeSharing.EACH_ASSESSOR
    )
    for tray in found.trays:
        assert_tray(tray)
    codes = [code for tray in found.trays for code in tray]
    assert len(codes) == assessors * glasses == len(set(codes))
    assert found.all_distinct


def test_one_code_a_pouring_by_default() -> None:
    found = draw_tray_codes(5, 8, generator(1, "codes"))
    assert len(set(found.trays)) == 1
    assert found.all_distinct


def test_own_codes_come_back_only_when_they_must() -> None:
    found = draw_tray_codes(60, 12, generator(1, "codes"), sharing=CodeSharing.EACH_ASSESSOR)
    assert not found.all_distinct
    for tray in found.trays:
        assert_tray(tray)


def test_same_seed_same_codes_everywhere() -> None:
    # Written down once: a sealed plan must come out the same on another machine.
    codes = draw_codes(6, generator(2024, "codes"))
    assert codes == ["837", "127", "683", "218", "769", "784"]
    assert generator(1, "codes").random() == 0.08321097681781553


def test_streams_and_seeds_are_unlike() -> None:
    drawn = {tuple(draw_codes(8, generator(seed, name))) for seed in range(20) for name in "ab"}
    assert len(drawn) == 40


def test_seed_is_secret_and_long() -> None:
    drawn = [draw_seed() for _ in range(50)]
    assert len(set(drawn)) == 50
    assert max(seed.bit_length() for seed in drawn) > 120
    assert max(seed.bit_length() for seed in drawn) <= 128


@pytest.mark.parametrize("n", [82, 500, 10_000])
def test_too_many_codes_are_refused(n: int) -> None:
    with pytest.raises(CodesError, match="pour fewer glasses"):
        draw_codes(n, generator(1, "codes"))


def test_an_avoid_list_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(CodesError, match="shorten the list of numbers to avoid"):
        draw_codes(1, generator(1, "codes"), plain_codes())


def test_impossible_counts_are_refused() -> None:
    with pytest.raises(CodesError, match="0 or more"):
        draw_codes(-1, generator(1, "codes"))
    with pytest.raises(CodesError, match="at least 1 tray"):
        draw_tray_codes(0, 8, generator(1, "codes"))
    with pytest.raises(CodesError, match="seed"):
        generator(-1, "codes")


@pytest.mark.parametrize(
    "code", ["111", "122", "212", "123", "321", "210", "789", "168", "906", "12", "1234", "023"]
)
def test_codes_that_say_something(code: str) -> None:
    assert not is_plain(code)


@pytest.mark.parametrize("code", ["135", "247", "102", "694", "975"])
def test_plain_codes(code: str) -> None:
    assert is_plain(code)


def test_how_many_plain_codes_there_are() -> None:
    # 9*9*8 without a repeat, less 15 runs, less 4*4*3 that read upside down.
    assert len(plain_codes()) == 648 - 15 - 48


def test_what_is_too_alike() -> None:
    assert clash("274", "274")
    assert clash("274", "279")
    assert clash("274", "724")
    assert clash("274", "247")
    assert clash("274", "472")
    assert not clash("274", "742")
    assert not clash("274", "295")


def test_numbers_that_would_tell() -> None:
    assert number_forms(58.4) == {"584"}
    assert number_forms(12) == {"120"}
    assert number_forms(57.25) == {"572", "725"}
    assert number_forms(112) == {"112", "120"}
    avoid = codes_to_avoid(["SW-1043/2", "2004/517", "7", "[/x]"], [63.5], [18])
    assert {"432", "517", "635", "180"} <= avoid


def test_avoid_list_of_a_session_is_kept() -> None:
    avoid = codes_to_avoid([f"{n}" for n in range(1000, 1500)])
    for seed in range(20):
        assert not avoid.intersection(draw_codes(8, generator(seed, "codes"), avoid))


def test_shuffle_is_even() -> None:
    # 6000 shuffles of three: each order 1000 times, give or take five standard deviations.
    rng = generator(5, "shuffle")
    counts = Counter(tuple(shuffled("abc", rng)) for _ in range(6000))
    assert set(counts) == set(permutations("abc"))
    assert all(abs(count - 1000) < 5 * 29 for count in counts.values())
