"""Rows: casks that are held or passed, holds that are true, and families that are not shown.

Noses differ: each catches of real faults a share of its own around the one that is named, and less
than of planted ones; each stops sound casks at a rate of its own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from analysis.passing import FamilyWord, MorningsFound, PassingFound, PassState
from analysis.passing.morning import COLUMNS, passing_found
from analysis.passing.mornings import mornings_found
from panel.kinds import Fault
from panel.session.passing_blocks import Amounts, PassGlass, passing_tray
from tests.bench.word_rates import Row

HELD, PASSED = "held", "passed"
TRUE = "holds likely true: the interval misses it"
NOT_SHOWN = "not shown"
RULES = {
    HELD: "two noses that do not know of each other held the cask, on any glass of it",
    PASSED: "no nose that had the cask held it",
    TRUE: "exact intervals of what is held, of known-sound glasses stopped and of planted faults "
    "caught, laid together at 95 %; over ten mornings or more",
    NOT_SHOWN: "no spike of the family was caught in twelve months, or not more often than "
    "known-sound glasses were stopped (one-sided exact test, .05)",
}
CASKS = 60
SPIKES = (Fault.SULPHUR, Fault.MOULD_OR_CORK, Fault.SOLVENT, Fault.RUBBER)
AMOUNTS = Amounts(12, 8, 1.0, 1.0, 0.1)
DAY = date(2026, 3, 2)


@dataclass(frozen=True)
class Noses:
    """How noses are: shares caught of real and of planted faults, and of sound casks stopped.

    `spread` is the sd of each between noses, on the scale of log odds; `by_day` between mornings.
    """

    real: float = 0.85
    planted: float = 0.9
    stopped: float = 0.04
    spread: float = 0.4
    by_day: float = 0.2


def odds(rng: np.random.Generator, share: float, sd: float) -> float:
    """Return a share moved by chance on the scale of log odds."""
    at = np.log(share / (1.0 - share)) + rng.normal(0.0, sd)
    return float(1.0 / (1.0 + np.exp(-at)))


@dataclass(frozen=True)
class Mornings:
    """Some mornings of passing, each by some noses with a parcel of its own.

    `blind_to` is a family of planted faults that nobody catches more often than sound casks.
    """

    noses: int = 1
    mornings: int = 1
    faulty: float = 0.05
    how: Noses = Noses()
    blind_to: Fault | None = None

    def frame(self, seed: int) -> tuple[pd.DataFrame, set[str]]:
        """Draw glasses, and which casks are at fault."""
        rng = np.random.default_rng([seed, self.noses, self.mornings])
        own = [
            [odds(rng, share, self.how.spread) for share in self._shares()]
            for _ in range(self.noses)
        ]
        rows: list[tuple[object, ...]] = []
        bad: set[str] = set()
        for morning in range(self.mornings):
            bad |= {f"{morning}-{c}" for c in range(CASKS) if rng.random() < self.faulty}
            for nose, shares in enumerate(own):
                today = [odds(rng, share, self.how.by_day) for share in shares]
                rows += self._tray(rng, morning, nose, today, bad)
        return pd.DataFrame(rows, columns=list(COLUMNS)).astype({"held": bool}), bad

    def _shares(self) -> tuple[float, float, float]:
        return self.how.real, self.how.planted, self.how.stopped

    def _tray(
        self, rng: np.random.Generator, morning: int, nose: int, today: list[float], bad: set[str]
    ) -> Iterator[tuple[object, ...]]:
        real, planted, stopped = today
        casks = [PassGlass(cask, "make", 0) for cask in range(CASKS)]
        stock = [PassGlass(1000 + n, "make", 0, True, fault) for n, fault in enumerate(SPIKES)]
        stock.append(PassGlass(2000, "make", 0, True))
        by_id = {glass.draw_id: glass for glass in stock}
        drawn = random.Random(int(rng.integers(2**32)))
        for at in passing_tray(casks, stock, AMOUNTS, drawn):
            plant = by_id.get(at.draw_id)
            cask = "" if plant else f"{morning}-{at.draw_id}"
            family = plant.fault if plant else None
            if family is not None:
                chance, why = (stopped if family is self.blind_to else planted), "spike"
            elif plant is not None:
                chance, why = stopped, "sound"
            else:
                chance, why = (real if cask in bad else stopped), "cask"
            held = bool(rng.random() < chance)
            yield (
                *(f"m{morning}", pd.Timestamp(DAY + timedelta(days=7 * morning)), f"N{nose}"),
                *(at.block, cask or f"plant {at.draw_id}", cask, at.replicate, why),
                *(family.value if family else "", held, "other" if held else "", "kept"),
            )


@dataclass(frozen=True)
class Judged:
    """One morning as a lead gets it, and the casks that are at fault."""

    worlds: Mornings

    def __call__(self, seed: int) -> tuple[PassingFound, set[str]]:
        """Draw and judge."""
        frame, bad = self.worlds.frame(seed)
        return passing_found(frame), bad


@dataclass(frozen=True)
class Together:
    """Many mornings as a lead gets them, and the share of the first glasses' holds that is true."""

    worlds: Mornings

    def __call__(self, seed: int) -> tuple[MorningsFound, float]:
        """Draw and judge."""
        frame, bad = self.worlds.frame(seed)
        until = DAY + timedelta(days=7 * self.worlds.mornings)
        first = frame[(frame["there_for"] == "cask") & (frame["replicate"] == 1) & frame["held"]]
        share = float(first["cask"].isin(bad).mean()) if len(first) else float("nan")
        return mornings_found(frame, [fault.value for fault in SPIKES], until=until), share


@dataclass(frozen=True)
class Says:
    """Whether casks at fault, or sound ones, stand so."""

    state: PassState
    at_fault: bool

    def __call__(self, drawn: tuple[PassingFound, set[str]]) -> Iterator[bool]:
        """Give it cask by cask."""
        found, bad = drawn
        for cask in found.casks:
            if (cask.cask in bad) is self.at_fault:
                yield cask.state is self.state


def misses(drawn: tuple[MorningsFound, float]) -> Iterator[bool]:
    """Whether the interval of true holds misses the share that is true."""
    found, share = drawn
    holds = found.true_holds
    if holds.low is not None and holds.high is not None:
        yield not holds.low <= share <= holds.high


def not_shown(drawn: tuple[MorningsFound, float]) -> Iterator[bool]:
    """Whether it is said of the first family."""
    yield drawn[0].families[0].word is FamilyWord.NOT_SHOWN


def rows() -> Iterator[Row]:
    """All rows on passing."""
    casual = Noses(real=0.6, planted=0.85, stopped=0.10)
    for name, how in (("good", Noses()), ("casual", casual)):
        two, one = Judged(Mornings(2, how=how)), Judged(Mornings(1, how=how))
        where = (
            f"noses that catch {how.real:g} of real faults and stop {how.stopped:g} of sound casks"
        )
        good = name == "good"
        sound, bad = Says(PassState.HELD, False), Says(PassState.HELD, True)
        missed = Says(PassState.PASSED, True)
        yield Row(
            f"pass-held-sound-{name}",
            *(HELD, f"a sound cask, two {where}", 0.01 if good else None, good),
            *(two, sound, 40, 400),
        )
        yield Row(
            f"pass-held-bad-{name}",
            *(HELD, f"a cask at fault, two {where}", 0.6 if good else None, False),
            *(two, bad, 40, 400),
        )
        yield Row(
            f"pass-missed-two-{name}",
            *(PASSED, f"a cask at fault, two {where}", 0.08 if good else None, good),
            *(two, missed, 80, 800),
        )
        yield Row(
            f"pass-missed-one-{name}",
            *(PASSED, f"a cask at fault, one of the {where}", None, False),
            *(one, missed, 80, 800),
        )
    for faulty in (0.01, 0.05):
        for mornings in (10, 30):
            worlds = Together(Mornings(1, mornings, faulty))
            where = f"{faulty:g} of casks at fault, one nose, {mornings} mornings"
            name = f"pass-true-{faulty:g}-{mornings}"
            yield Row(name, TRUE, where, 0.05, True, worlds, misses, 200, 800, of="runs")
    easy = Together(Mornings(1, 10, 0.03, Noses(real=0.4, planted=0.95)))
    where = "real faults much harder to find than planted ones, 10 mornings"
    yield Row("pass-true-easy", TRUE, where, 0.05, True, easy, misses, 200, 800, of="runs")
    seen = Together(Mornings(1, 10, 0.03))
    where = "a family of which the nose catches .9, ten mornings"
    yield Row("pass-shown", NOT_SHOWN, where, 0.02, True, seen, not_shown, 200, 800, of="runs")
    blind = Together(Mornings(1, 10, 0.03, blind_to=SPIKES[0]))
    where = "a family that the nose cannot smell, ten mornings"
    yield Row("pass-blind", NOT_SHOWN, where, 0.5, False, blind, not_shown, 200, 200, of="runs")
