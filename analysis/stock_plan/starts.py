"""Of plans with as few points the surest, looked for from several starts.

Exchanges of one cask for another keep how many there are, and end where no single one helps. Casks
chosen for a band that is drawn in further lie elsewhere: from there too they are tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ..array_types import Floats
from ..under_way import go_on
from ..vatting.chance import vat_sd
from ..vatting.mixture import pour_fills
from ..vatting.model import with_band
from ..vatting.solve import solve
from ..vatting.task import band_of
from ..vatting.work import Work
from .blocks import Block, Problem
from .left import restricted, what_is_left
from .search import is_of_few, keeps
from .surest import chance_of_all, judged_of, surest

_KAPPAS = (0.75, 1.5, 2.2)
_DRAWS = 400
_CASKS = 400
"""Casks of a release up to which other starts are looked for."""
_RELEASES = 5
_WORK = Work(nodes=10, tries=60, goal=0.0005)
_HAIR = 1e-7
_RISES = 1e-9


def surest_of_starts(
    problem: Problem,
    given: list[Floats],
    only: frozenset[int] | None = None,
    *,
    counted: Sequence[int] | None = None,
    work_share: float = 1.0,
) -> list[Floats]:
    """Exchange casks as :func:`surest` does, from the plan itself and from surer starts.

    Of a plan of few releases of few casks each; of any other from the plan itself alone. The
    parameters and what holds of the answer are those of :func:`surest`.
    """
    found = surest(problem, given, only, counted=counted, work_share=work_share)
    if len(problem.blocks) > _RELEASES:
        return found
    judged = judged_of(problem, given, counted)
    start = found
    for at in judged:
        if only is None or at in only:
            start = _surer_start(problem, start, at, judged)
    if start is found:
        return found
    return surest(problem, start, only, counted=counted, work_share=work_share)


def _surer_start(
    problem: Problem, given: list[Floats], at: int, judged: Sequence[int]
) -> list[Floats]:
    """The plan with other casks for one release, of what the others leave, where it is surer."""
    block = problem.blocks[at]
    if block.model.n > _CASKS or not is_of_few(block):
        return given
    best, chance = given, chance_of_all(problem, given, judged)
    for part in _of_drawn_in_bands(problem, given, at):
        tried = [*given]
        tried[at] = part
        if not _as_good(block, given[at], part) or not keeps(problem, tried):
            continue
        surer = chance_of_all(problem, tried, judged)
        if surer > chance + _RISES:
            best, chance = tried, surer
    return best


def _of_drawn_in_bands(problem: Problem, given: list[Floats], at: int) -> Iterator[Floats]:
    """What lies nearest of what is left, for bands drawn in further and further."""
    block = problem.blocks[at]
    few, columns = restricted(block, what_is_left(problem, given, at))
    part, start = given[at], None
    for kappa in _KAPPAS:
        go_on()
        used = np.flatnonzero(part > 0.0)
        lpa = block.model.lpa[used] * part[used]
        sd = vat_sd(block.task, block.casks[used], lpa, draws=_DRAWS)
        model = with_band(few.model, block.task, band_of(block.task, kappa, sd))
        found = solve(model, start=start, work=_WORK)
        if found.fractions is None:
            return
        start, part = found.fractions, np.zeros(block.model.n)
        part[columns] = start
        yield part


def _as_good(block: Block, before: Floats, after: Floats) -> bool:
    """Whether it lies no farther out, lacks no more and as surely comes to its bottles."""
    points = [float(block.model.soft_weight @ block.model.outside(p)) for p in (before, after)]
    if points[1] > points[0] + _HAIR or block.missing(after) > block.missing(before):
        return False
    fills = [
        pour_fills(block.task, block.casks[used], block.model.litres[used] * p[used])
        for p in (before, after)
        for used in [np.flatnonzero(p > 0.0)]
    ]
    return fills[1] or not fills[0]
