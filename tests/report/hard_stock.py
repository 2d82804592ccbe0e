"""Pages of the stock that are hard to lay out: long names in five scripts, many casks and notes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pandas as pd

from analysis.ageing import Cover
from analysis.influences import Effect, Factor, Influences, NoteInfluences
from analysis.influences.moves import Claims
from analysis.influences.separate import Separation
from analysis.pictures.effects import what_moves
from analysis.target import CaskMatch, LeftOut, Match
from analysis.vatting import Expectation, Limits, Line, Mixture, PlanPart, Poured, SharesTried
from panel.questions.best_casks import BestTold
from panel.questions.targets import AimLine, TargetRecord
from panel.questions.vatting import HouseStock
from panel.report.blend import tried_page
from panel.report.influences import influences_page
from panel.report.target import target_page
from tests.report.hard import DAY, FIVE, SAID, STANDS

N_CASKS = 400
WOODS = tuple(f"{note} hogshead" for note in FIVE)


def named(number: int) -> str:
    """A cask, the first five with a name that hardly fits."""
    return f"SW-{number:05d}/{FIVE[number]}" if number < len(FIVE) else f"SW-{number:05d}"


def target() -> str:
    casks = tuple(
        CaskMatch(
            *(named(number), f"SW-{number}/1", f"SW-{number}-1"),
            probability=0.9 - number / 500,
            distance=0.1 + number / 10,
            worst_descriptor=FIVE[number % 5],
            worst_off=1.25,
            n_scores=40,
            last_nosed=DAY,
            years_moved=2.5,
            decides=True,
            moved=Cover.KIND.value,
            held_against="litres and strength are 4 years old: regauge before you rely on them",
        )
        for number in range(N_CASKS)
    )
    found = Match(
        target=SAID[:60],
        sentence=f"Cask {casks[0].cask} comes first of {N_CASKS}: {SAID}",
        next_action="before choosing, see whether nosing these side by side still pays",
        casks=casks,
        left_out=tuple(LeftOut(named(at), "S", SAID[:200]) for at in range(N_CASKS)),
        n_ranked=N_CASKS,
        best_is_best=0.4,
        first_hold_best=0.9,
        n_distinguishable=3,
        seed=1,
        stock_on=DAY,
    )
    lines = tuple(AimLine(note, 40.0, 8.0, 1.0) for note in FIVE)
    best = BestTold(None, SAID[:200])
    return target_page(TargetRecord(SAID[:60], lines), found, STANDS, best=best)


def influences() -> str:
    """One note with hundreds of effects, so that a picture and tables are long."""
    effects = tuple(
        Effect(
            *(FIVE[0], Factor.WOOD_FILL, f"{wood}, fill {fill}", f"{wood}, fill 1"),
            *(2.0 * fill, -1.0, 5.0, fill),
            note=f"rests on {fill} casks",
        )
        for wood in WOODS
        for fill in range(2, 10)
    )
    note = NoteInfluences(FIVE[0], f"{FIVE[0]} moves with {SAID}", 40, 60, 0.5, 0.4)
    found = Influences(
        effects=effects,
        notes=(note,),
        separation=Separation(1.0, ()),
        map=None,
        predictions=pd.DataFrame(),
        level=0.95,
        n_casks=40,
        n_draws=60,
        left_out={},
        claims=Claims((), 0.95, 0, {}),
    )
    assert what_moves(found, FIVE[0]).rows
    return influences_page(found, STANDS, descriptor=FIVE[0])


def blend() -> str:
    """Forty casks put together by hand, foretold ones among them."""
    parts = tuple(
        PlanPart(
            *(named(number), f"SW-{number}/1", 200.0, 120.0, 0.025, 0.025, 60.0, 8.5, 0.0, 3.2),
            note=SAID[:160] if number < len(FIVE) else None,
            foretold=number % 7 == 0,
        )
        for number in range(40)
    )
    lines = tuple(Line(note, 40.0, 8.0, 44.0, 2.0, 0.9, 1.0) for note in FIVE)
    poured = Poured(
        *(8000.0, 60.0, 4800.0, 3.2, 46.0, 2400.0, None, 10_400.0, 14_400, 8, None),
        *(14_200, 14_600, 10_200.0),
    )
    mixture = Mixture(parts, poured, Expectation(lines, 0.6, 0.001, FIVE[0]), ())
    house = cast("HouseStock", SimpleNamespace(laws=(), day=DAY, note=SAID))
    limits = Limits(bottles=14_000, abv_percent=46.0)
    return tried_page(SharesTried(mixture, ()), house, limits, SAID[:60], STANDS)
