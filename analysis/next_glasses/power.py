"""Before anything is poured: how many people, samples and sessions a question needs.

Three questions, each for a panel like this one. Two casks n points apart: how often would a
session tell them apart? The best few of many: what does a choice cost after so many glasses? A
curve of ageing: within how many points a year would it be known?

Where all people read alike the power is exact: Student's t, not central. With each person's own
scale and noise what the program would say is simulated, and both are told.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..errors import InputError
from ..house_line import Z_95
from ..profile import Profile
from .panel import PanelNoise, panel_noise
from .power_exact import power_of_difference, smallest_difference
from .power_result import Design, LossAt, PanelAs, PowerRow, PowerTable, Widths
from .power_said import LEAST_PEOPLE, said_of_two


def power_table(
    profile: Profile | None,
    designs: Sequence[Design],
    *,
    notes: Sequence[str],
    points: float = 20.0,
    tolerance: float = 10.0,
    casks: int = 60,
    best: int = 5,
    assessors: Sequence[str] = (),
    years: float = 10.0,
    seed: int = 1,
) -> PowerTable:
    """Reckon how much a question needs, before anything is poured.

    Parameters
    ----------
    profile
        The panel's own variances; None for a house that nosed nothing yet.
    designs
        People, samples and sessions to be compared.
    notes
        Those that are asked about.
    points
        Difference of two casks that should be seen.
    tolerance
        Points that nobody would act on: two casks are called surely apart beyond it.
    casks, best
        How many are to be chosen of how many.
    assessors
        Who may come; by default everybody who scored. Bigger panels take them over and over.
    years
        Span of ages of a curve.

    Examples
    --------
    >>> found = power_table(None, [Design(6, 6, 1), Design(6, 6, 3)], notes=["smoke"],
    ...     points=10.0)
    >>> [round(row.exact, 2) for row in found.rows_of], found.learned
    ([0.38, 0.82], False)
    """
    if not designs or not notes:
        raise InputError("Power needs a note and a design. Give at least one of each.")
    if not 0 < best < casks:
        raise InputError(f"{best} of {casks} cannot be chosen. Give fewer than there are casks.")
    panels = [panel_as(profile, note, assessors) for note in notes]
    rows = [
        _row(panel, design, (points, tolerance), casks, best, seed)
        for panel in panels
        for design in designs
    ]
    most = max(design.glasses for design in designs)
    steps = np.unique(np.round(np.geomspace(casks, max(most, 2 * casks), 9)).astype(np.intp))
    losses = [
        LossAt(panel.note, int(n), loss_of_choice(panel, int(n), casks, best, seed=seed))
        for panel in panels
        for n in steps
    ]
    widths = [_widths(panel, design, years) for panel in panels for design in designs]
    learned = profile is not None
    told = (tuple(rows), tuple(losses), tuple(widths))
    return PowerTable(points, tolerance, casks, best, *told, learned, seed)


def panel_as(
    profile: Profile | None, note: str, assessors: Sequence[str] = (), between: float = 81.0
) -> PanelAs:
    """How a panel reads one note; `between` where nothing is known of the casks."""
    fit = None
    if profile is not None and note in profile.descriptors:
        fit = profile.fit(note)
    names = tuple(assessors) or (tuple(fit.scale) if fit is not None else ()) or ("typical",)
    found: PanelNoise = panel_noise(profile, names, [note])
    spread = between if fit is None or fit.between is None else fit.between
    return PanelAs(
        note,
        tuple(found.scale[:, 0].tolist()),
        tuple(found.noise[:, 0].tolist()),
        float(found.disagreement[0]),
        float(spread),
    )


def loss_of_choice(
    panel: PanelAs, glasses: int, casks: int, best: int, *, worlds: int = 1000, seed: int = 1
) -> float:
    """What choosing the best casks costs after glasses dealt evenly, points, by simulation.

    Casks are drawn as this house's are, and known as well as so many glasses of this panel's
    people, each nosing a cask once before anybody noses one twice, make them known.
    """
    rng = np.random.default_rng(seed)
    told = information_of(panel, glasses / casks)
    left = 1.0 / (1.0 / max(panel.between, 1e-9) + told)
    mean = np.sqrt(max(panel.between - left, 0.0)) * rng.standard_normal((worlds, casks))
    truth = mean + np.sqrt(left) * rng.standard_normal((worlds, casks))
    picked = np.argpartition(-mean, best - 1, axis=1)[:, :best]
    top = -np.partition(-truth, best - 1, axis=1)[:, :best]
    return float(np.mean(top.mean(axis=1) - np.take_along_axis(truth, picked, axis=1).mean(axis=1)))


def information_of(panel: PanelAs, glasses: float) -> float:
    """What so many glasses of a cask tell, people taking turns, in 1 / points squared."""
    scale, noise = np.array(panel.scale), np.array(panel.noise)
    each = glasses / len(scale)
    whole = np.floor(each)

    def told(n: float) -> float:
        return float(np.sum(scale**2 * n / (panel.disagreement * n + noise)))

    return float(told(whole) + (each - whole) * (told(whole + 1.0) - told(whole)))


def _row(
    panel: PanelAs, design: Design, apart: tuple[float, float], casks: int, best: int, seed: int
) -> PowerRow:
    points, tolerance = apart
    people = design.assessors
    variance = panel.disagreement + panel.typical_noise / design.sessions
    exact = simulated = se = smallest = beyond = farther = None
    if people >= LEAST_PEOPLE:
        said = said_of_two(panel, design, seed=seed)
        simulated, se = said.found(points, tolerance)
        beyond, _ = said.apart(points, tolerance)
        farther = said.smallest_apart(tolerance)
        exact = power_of_difference(points, variance, people, df=said.lasting_df)
        smallest = smallest_difference(variance, people, df=said.lasting_df)
    return PowerRow(
        note=panel.note,
        assessors=design.assessors,
        samples=design.samples,
        sessions=design.sessions,
        glasses=design.glasses,
        points=points,
        exact=exact,
        simulated=simulated,
        simulated_se=se,
        smallest=smallest,
        beyond=beyond,
        smallest_beyond=farther,
        loss=loss_of_choice(panel, design.glasses, casks, best, seed=seed),
    )


def _widths(panel: PanelAs, design: Design, years: float) -> Widths:
    """Of a straight stretch of a curve: casks spread evenly over the ages."""
    casks = max(design.samples * design.sessions, 2)
    noise = 1.0 / information_of(panel, design.assessors)
    ages = np.linspace(0.0, years, casks)
    spread = float(np.sum((ages - ages.mean()) ** 2))
    across = np.sqrt((panel.between + noise) / spread)
    again = np.sqrt(2.0 * noise / casks) / years
    level = np.sqrt((panel.between + noise) / casks)
    return Widths(
        panel.note,
        casks,
        casks * design.assessors,
        years,
        float(Z_95 * across),
        float(Z_95 * again),
        float(Z_95 * level),
    )
