"""Three-digit codes for blind glasses, and the random stream they are drawn from.

Randomness: the session's 128 secret bits, hashed with the name of what is drawn, seed a
Mersenne twister (`random.Random(int)`). Only `random()` is taken from it, because that
sequence is what Python promises to keep for a given seed; the same seed therefore gives
the same plan on every platform and version. Streams with different names are unrelated,
so that codes, which everyone sees, say nothing about the orders or the key.
"""

from __future__ import annotations

import hashlib
import random
import re
import secrets
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache
from itertools import pairwise
from typing import Final, TypeVar

SEED_BITS: Final = 128
UPSIDE_DOWN_DIGITS: Final = frozenset("01689")
_SHUFFLES_BEFORE_GIVING_UP: Final = 60

T = TypeVar("T")


class CodesError(ValueError):
    """The codes that were asked for cannot be drawn; the message says what to change."""


class CodeSharing(Enum):
    """Who reads the same code for the same pouring."""

    ALL_ASSESSORS = "one code a pouring, the same on every tray"
    EACH_ASSESSOR = "each tray has codes of its own"


@dataclass(frozen=True)
class TrayCodes:
    """Codes of a session: `trays[assessor][glass]`; shared codes repeat the same tray."""

    trays: tuple[tuple[str, ...], ...]
    sharing: CodeSharing
    all_distinct: bool


def draw_seed() -> int:
    """Return 128 secret bits from the operating system."""
    return secrets.randbits(SEED_BITS)


def generator(seed: int, stream: str) -> random.Random:
    """Return the random stream of that name for a seed (see the module's text)."""
    if seed < 0:
        raise CodesError(f"The seed is {seed}, but it is a whole number from 0 up.")
    digest = hashlib.sha256(f"{stream}:{seed}".encode()).digest()
    return random.Random(int.from_bytes(digest[:16], "big"))


def shuffled(items: Iterable[T], rng: random.Random) -> list[T]:
    """Return the items in random order (Fisher-Yates on `rng.random()` alone)."""
    result = list(items)
    for last in range(len(result) - 1, 0, -1):
        other = int(rng.random() * (last + 1))
        result[last], result[other] = result[other], result[last]
    return result


def is_plain(code: str) -> bool:
    """Whether a code says nothing by itself.

    Left out: repeated digits (they stand out), runs up or down (they rank), and codes of
    0, 1, 6, 8 and 9 only (they read as another code when the label is upside down).
    """
    steps = {int(b) - int(a) for a, b in pairwise(code)}
    return (
        len(code) == 3
        and "100" <= code <= "999"
        and len(set(code)) == 3
        and steps not in ({1}, {-1})
        and not UPSIDE_DOWN_DIGITS.issuperset(code)
    )


@cache
def plain_codes() -> tuple[str, ...]:
    """All codes from 100 to 999 that pass `is_plain`, in rising order."""
    return tuple(code for code in map(str, range(100, 1000)) if is_plain(code))


def clash(one: str, other: str) -> bool:
    """Whether two codes are too alike for one tray.

    They are when they differ in fewer than two digits, or when swapping two digits of one
    gives the other.
    """
    different = [i for i in range(3) if one[i] != other[i]]
    if len(different) < 2:
        return True
    if len(different) > 2:
        return False
    i, j = different
    return one[i] == other[j] and one[j] == other[i]


def number_forms(value: float) -> set[str]:
    """Three-digit readings of a strength or an age: 58.4 -> 584; 12 -> 120; 57.25 -> 572, 725."""
    written = (f"{value:.0f}", f"{value:.1f}", f"{value:.2f}".rstrip("0"))
    digits = {text.replace(".", "") for text in written}
    return {text[start : start + 3] for text in digits for start in range(len(text) - 2)}


def codes_to_avoid(
    cask_numbers: Iterable[str] = (),
    strengths_abv_percent: Iterable[float] = (),
    ages_years: Iterable[float] = (),
) -> frozenset[str]:
    """Codes that would hint at a glass: last digits of casks, strengths and ages."""
    avoid: set[str] = set()
    for number in cask_numbers:
        runs = re.findall("[0-9]+", number)
        avoid |= {digits[-3:] for digits in (*runs, "".join(runs)) if len(digits) >= 3}
    for value in (*strengths_abv_percent, *ages_years):
        avoid |= number_forms(value)
    return frozenset(avoid)


def _tray(n: int, candidates: Sequence[str], tray: Sequence[str]) -> list[str] | None:
    """Take `n` codes from the candidates in their order, each fitting all before it."""
    held = list(tray)
    for code in candidates:
        if len(held) == n + len(tray):
            break
        if not any(clash(code, other) for other in held):
            held.append(code)
    return held[len(tray) :] if len(held) == n + len(tray) else None


def draw_codes(
    n: int,
    rng: random.Random,
    avoid: Collection[str] = (),
    taken_per_tray: Sequence[str] = (),
) -> list[str]:
    """Draw `n` codes that can stand on one tray together.

    `taken_per_tray` are codes that the tray already carries (a warm-up glass, an earlier
    flight): new ones keep their distance from them. Raises `CodesError` when no such set
    was found.
    """
    if n < 0:
        raise CodesError(f"{n} codes were asked for; the number of glasses is 0 or more.")
    allowed = [code for code in plain_codes() if code not in avoid]
    # Codes of one tray never share their first two digits, so this many at the most.
    beginnings = {code[:2] for code in allowed} - {code[:2] for code in taken_per_tray}
    shuffles = _SHUFFLES_BEFORE_GIVING_UP if n <= len(beginnings) else 0
    for _ in range(shuffles):
        found = _tray(n, shuffled(allowed, rng), taken_per_tray)
        if found is not None:
            return found
    raise CodesError(
        f"{n} codes were asked for beside {len(taken_per_tray)} on the tray, but no set that is "
        f"told apart safely was found among {len(allowed)} codes: pour fewer glasses in one "
        "session, or shorten the list of numbers to avoid."
    )


def draw_codes_together(
    n: int,
    together: Sequence[Collection[int]],
    rng: random.Random,
    avoid: Collection[str] = (),
) -> list[str]:
    """Draw `n` distinct codes that keep their distance where glasses stand `together`.

    For more glasses in all than any one tray holds: `together` are the sets of glasses, by their
    numbers from 0, whose codes must not be mistaken for each other. Raises `CodesError` when no
    such codes were found.
    """
    beside: list[set[int]] = [set() for _ in range(n)]
    for glasses in together:
        for glass in glasses:
            beside[glass] |= set(glasses) - {glass}
    order = sorted(range(n), key=lambda glass: -len(beside[glass]))
    allowed = [code for code in plain_codes() if code not in avoid]
    for _ in range(_SHUFFLES_BEFORE_GIVING_UP if n <= len(allowed) else 0):
        found: dict[int, str] = {}
        left = shuffled(allowed, rng)
        for glass in order:
            near = [found[other] for other in beside[glass] if other in found]
            code = next((c for c in left if not any(clash(c, other) for other in near)), None)
            if code is None:
                break
            left.remove(code)
            found[glass] = code
        else:
            return [found[glass] for glass in range(n)]
    raise CodesError(
        f"{n} codes were asked for, but no set that is told apart safely on every tray was found "
        f"among {len(allowed)} codes: pour fewer glasses in one session, or shorten the list of "
        "numbers to avoid."
    )


def draw_tray_codes(
    assessors: int,
    glasses: int,
    rng: random.Random,
    avoid: Collection[str] = (),
    sharing: CodeSharing = CodeSharing.ALL_ASSESSORS,
) -> TrayCodes:
    """Draw the codes of every tray of a session.

    By default one set serves all assessors. With codes for each assessor a code appears
    once in the session as long as there are enough; after that it may come back on another
    tray, and `all_distinct` says so.
    """
    if assessors < 1:
        raise CodesError(f"{assessors} assessors: codes need at least 1 tray.")
    if sharing is CodeSharing.ALL_ASSESSORS:
        shared = tuple(draw_codes(glasses, rng, avoid))
        return TrayCodes((shared,) * assessors, sharing, all_distinct=True)
    trays: list[tuple[str, ...]] = []
    used: set[str] = set(avoid)
    all_distinct = True
    for _ in range(assessors):
        try:
            tray = draw_codes(glasses, rng, used)
        except CodesError:  # none left that is new: start the pool again
            all_distinct, used = False, set(avoid)
            tray = draw_codes(glasses, rng, used)
        trays.append(tuple(tray))
        used.update(tray)
    return TrayCodes(tuple(trays), sharing, all_distinct)
