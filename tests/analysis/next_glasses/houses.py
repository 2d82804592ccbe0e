"""Small houses to choose the next session in."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from analysis.next_glasses import Known, PanelNoise, known_from
from analysis.next_glasses.margins import BestWeighing, Margins, margins_of
from analysis.next_glasses.states import States
from analysis.profile import ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine
from analysis.vatting import stock_from_profile

NOTES = ("plum", "smoke")
FEN = Target("Fen", (TargetLine("plum", 40.0, 8.0), TargetLine("smoke", 30.0, 6.0)))
DAY = date(2031, 5, 4)


def known_house(n_casks: int = 14, unnosed: int = 4, sessions: int = 6, **columns: object) -> Known:
    """A house of some casks that six people nosed, the last of them never."""
    rng = np.random.default_rng(8)
    names = [f"c{n:02}" for n in range(n_casks)]
    levels = rng.normal((40.0, 30.0), 9.0, (n_casks, 2))
    rows = [
        {
            "session": f"S{session}", "held_on": "2030-03-01", "assessor": who, "sample": name,
            "cask": name, "filling": name, "replicate": replicate, "descriptor": note,
            "score": float(np.clip(levels[n, k] + shift + rng.normal(0.0, 8.0), 0.0, 100.0)),
        }
        for session in range(sessions)
        for who, shift in zip("ABCDEF", (-6.0, 3.0, 0.0, 5.0, -2.0, 1.0), strict=True)
        for n, name in enumerate(names[: n_casks - unnosed])
        if (n + session) % 3
        for replicate in (1, 2)
        for k, note in enumerate(NOTES)
    ]  # fmt: skip
    scores = pd.DataFrame(rows)
    casks = pd.DataFrame(
        {"cask": names, "filling": names, "age_years": 9.0, "abv": 59.0, "bulk_l": 180.0} | columns
    )
    profile = estimate_profile(scores, settings=ProfileSettings(processes=1))
    return known_from(profile, scores, stock_from_profile(profile, casks, as_of=DAY))


def made_up(n: int = 300, people: int = 5, lines: int = 2, seed: int = 3) -> Margins:
    """Casks with errors that go together over the notes, laid against a cut of four."""
    rng = np.random.default_rng(seed)
    notes = tuple(f"note {k}" for k in range(lines))
    root = rng.normal(0.0, 2.0, (n, lines, lines))
    states = States(
        names=tuple(f"c{row:03}" for row in range(n)),
        notes=notes,
        mean=rng.normal(40.0, 9.0, (n, lines)),
        own=root @ root.transpose(0, 2, 1) + 3.0 * np.eye(lines),
        shared=np.zeros((n, lines, 1)),
        common=np.ones(lines),
        unnosed=np.zeros(n, dtype=np.bool_),
        foretellable=np.ones(n, dtype=np.bool_),
    )
    target = Target("Made up", tuple(TargetLine(note, 45.0, 8.0) for note in notes))
    return margins_of(states, target, 4)


def weighing(margins: Margins, people: int = 5, seed: int = 4) -> BestWeighing:
    """Those casks before people of different noses."""
    rng = np.random.default_rng(seed)
    notes = margins.states.notes
    shape = (people, len(notes))
    panel = PanelNoise(
        assessors=tuple("ABCDEFGHIJKLMN"[:people]),
        notes=notes,
        scale=np.exp(rng.normal(0.0, 0.3, shape)),
        noise=rng.uniform(40.0, 160.0, shape),
        disagreement=np.full(len(notes), 9.0),
    )
    return BestWeighing(margins, panel, np.zeros((len(margins.off), *shape)))
