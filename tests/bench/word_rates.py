"""How often a word is said: rows, how they are measured, and what is kept of it.

A module of rows gives `rows()`, and `RULES` with the rule of each of its sentences; it is named in
`tests.bench.bench_words.SOURCES`, and `python -m tests.bench.bench_words missing` measures what is
new. A row's `draw` takes a seed and returns whatever its `read` needs to say, once for each chance,
whether the word was said; rates that count no word (a band that misses the truth, a claim that is
false) are rows as well. Draws are frozen values, so that rows of one draw are reckoned once.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from scipy.stats import beta

KEPT = Path(__file__).parent / "word_rates.json"
_SURE = 0.95


class Draw(Hashable, Protocol):
    """What makes a session, a house or a tray from a seed, judged or not."""

    def __call__(self, seed: int) -> Any:
        """Draw one."""


@dataclass(frozen=True)
class Row:
    """One row of the table.

    Attributes
    ----------
    name
        Short, of its own, for the command that repeats the row.
    asked
        The rate that is asked for; None where it is only told.
    false
        Whether the word is false there, so that the rate is to be at most `asked`.
    draw, read
        From a seed to something, and from that to whether the word was said, once for each
        chance to say it.
    draws, most
        So many to begin with, and at most where the bound takes more.
    of
        What is drawn.
    """

    name: str
    sentence: str
    where: str
    asked: float | None
    false: bool
    draw: Draw
    read: Callable[[Any], Iterator[bool]]
    draws: int = 400
    most: int = 4000
    of: str = "sessions"


@dataclass
class Tally:
    """How often a word was said; chances of one draw hang together, so the sums of squares."""

    said: int = 0
    chances: int = 0
    draws: int = 0
    squares: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    """Over draws: said squared, said times chances, chances squared."""

    def take(self, hits: Sequence[bool]) -> None:
        """Add what one draw gave."""
        said, chances = sum(hits), len(hits)
        self.said, self.chances, self.draws = (
            self.said + said,
            self.chances + chances,
            self.draws + 1,
        )
        new = (said * said, said * chances, chances * chances)
        self.squares = [old + more for old, more in zip(self.squares, new, strict=True)]

    @property
    def rate(self) -> float:
        """How often of all chances."""
        return self.said / self.chances if self.chances else float("nan")

    @property
    def together(self) -> float:
        """By how much the variance is greater than of chances on their own (Kish 1965)."""
        p = self.rate
        if not 0.0 < p < 1.0 or self.draws < 2:
            return 1.0
        ss, sc, cc = self.squares
        between = (ss - 2.0 * p * sc + p * p * cc) * self.draws / (self.draws - 1.0)
        return max(between / (self.chances * p * (1.0 - p)), 1.0)

    @property
    def bound(self) -> float:
        """Upper 95 % bound of the rate (Clopper & Pearson 1934)."""
        if self.said >= self.chances:
            return 1.0
        n = self.chances / self.together
        said = self.rate * n
        return float(beta.ppf(_SURE, said + 1.0, n - said))


def holds(row: Row, tally: Tally) -> bool:
    """Whether the row's rate is met: surely, where the word is false."""
    if row.asked is None:
        return True
    return tally.bound <= row.asked if row.false else tally.rate >= row.asked


def open_still(row: Row, tally: Tally) -> bool:
    """Whether more draws could settle a row that chance has left open."""
    if row.asked is None or not row.false or holds(row, tally):
        return False
    return tally.rate <= row.asked


def measure(rows: Sequence[Row], step: int = 400) -> Iterator[tuple[Row, Tally]]:
    """Measure rows that share a draw; go on while the bound of one of them is open."""
    tallies = [Tally() for _ in rows]
    draw, seed = rows[0].draw, 0
    goal, most = (max(getattr(row, name) for row in rows) for name in ("draws", "most"))
    while seed < goal:
        drawn = draw(seed)
        seed += 1
        for row, tally in zip(rows, tallies, strict=True):
            tally.take(list(row.read(drawn)))
        if seed == goal and any(map(open_still, rows, tallies)):
            goal = min(goal + step, most)
    yield from zip(rows, tallies, strict=True)


def outcome(row: Row, tally: Tally) -> str:
    """Whether the rate asked for is met, in a word."""
    if row.asked is None:
        return "told"
    if holds(row, tally):
        return "met"
    return "met, bound open" if open_still(row, tally) else "MISSED"


def kept() -> dict[str, Tally]:
    """Return what was measured, by the name of the row."""
    found = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    return {name: Tally(**part) for name, part in found.items()}


def keep(name: str, tally: Tally) -> None:
    """Write one row's tally beside the others."""
    found = {**{one: asdict(part) for one, part in kept().items()}, name: asdict(tally)}
    ordered = dict(sorted(found.items()))
    KEPT.write_text(json.dumps(ordered, indent=1) + "\n", encoding="utf-8")


def grouped(rows: Sequence[Row]) -> list[list[Row]]:
    """Rows by what they draw, in order."""
    found: dict[Hashable, list[Row]] = {}
    for row in rows:
        found.setdefault((row.draw, row.of), []).append(row)
    return list(found.values())


def line(row: Row, tally: Tally) -> str:
    """The row as a line of a Markdown table."""
    asked = "-" if row.asked is None else f"at {'most' if row.false else 'least'} {row.asked:g}"
    bound = f"{np.ceil(1000.0 * tally.bound) / 1000.0:.3f}" if row.false else "-"
    said = f"{tally.rate:.3f} ({tally.said} of {tally.chances})"
    cells = (row.sentence, row.where, asked, said, bound, f"{tally.draws} {row.of}")
    return f"| {' | '.join((*cells, outcome(row, tally), f'`{row.name}`'))} |"
