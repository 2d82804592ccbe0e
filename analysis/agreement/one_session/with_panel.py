"""Does somebody read with the others? Judged by the others alone, all notes together."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ...array_types import Vector
from ..indices.additive import Additive, additive
from ..indices.layout import ScoreLayout
from ..settings import AgreementSettings
from ..verdict.words import NOT_TOLD_APART, too_few, too_near
from .changing import drawn_orders, every_order, shared

_ALL_ORDERS = 6
"""Up to so many glasses every order of them is tried."""
_LEAST_OTHERS = 3
"""The mean of fewer is no measure of anybody."""
_Z = 1.6448536269514722


@dataclass(frozen=True)
class Told:
    """One note of one session as somebody reads it, beside the others who told it apart.

    Attributes
    ----------
    samples, own, others
        What was in the glasses, the person's cell means (NaN for none) and the others' means.
    noise
        Variance of one of the others' cells.
    n_others, f
        How many they are, and F of the samples over their disagreement.
    each
        Cell means of each of the others.
    note
        By which the note is known again in another session; empty where it is not.
    """

    samples: tuple[str, ...]
    own: Vector
    others: Vector
    noise: float
    n_others: int
    f: float
    each: Mapping[str, Vector] = field(default_factory=dict, compare=False)
    note: str = ""

    def without(self, names: Collection[str]) -> Told | None:
        """The same beside fewer; None where too few of them are left to be a measure."""
        kept = {name: own for name, own in self.each.items() if name not in names}
        if len(kept) == len(self.each):
            return self
        if len(kept) < _LEAST_OTHERS:
            return None
        fit = additive(np.vstack(list(kept.values())))
        if fit.rank < 1 or fit.df < 1:
            return None
        f = fit.f if fit.f is not None else float("inf")
        return replace(
            self, others=fit.columns, noise=fit.variance, n_others=len(kept), f=f, each=kept
        )

    def usual_span(self, names: Collection[str] = ()) -> float | None:
        """How far apart one of the others puts the person's glasses, at the middle of them.

        Each of them as the person is: a mean of all would span less, for noise widens a span.
        """
        there = ~np.isnan(self.own)
        spans = [
            float(np.ptp(own[there]))
            for name, own in self.each.items()
            if name not in names and there.any() and not np.isnan(own[there]).any()
        ]
        return float(np.median(spans)) if spans else None

    @property
    def reliability(self) -> float:
        """Share of the variance of the others' means that is not noise."""
        return 1.0 - 1.0 / self.f

    @property
    def scored(self) -> list[str]:
        """The samples that the person scored."""
        return [
            name for name, value in zip(self.samples, self.own, strict=True) if not np.isnan(value)
        ]

    @property
    def both(self) -> tuple[Vector, Vector]:
        """The person and the others about their means, over the glasses both have."""
        there = ~(np.isnan(self.own) | np.isnan(self.others))
        own, others = self.own[there], self.others[there]
        return own - own.mean(), others - others.mean()


ToldOrNot = Mapping[str, Told | str]
"""By assessor: one note of one session, or why that person cannot be judged by it."""


def told_by_others(
    layout: ScoreLayout, least_span: float, settings: AgreementSettings
) -> ToldOrNot:
    """Lay each assessor beside the others, where those told the samples apart.

    The person has no part in choosing: who scores at random would else vote for the notes on
    which he happens to be right.
    """
    return {
        name: told_beside(layout, row, least_span, settings)
        for row, name in enumerate(layout.assessors)
    }


def told_beside(
    layout: ScoreLayout, row: int, least_span: float, settings: AgreementSettings
) -> Told | str:
    """Lay one assessor, by row, beside the others; or why that cannot be done."""
    if layout.n_assessors < settings.small_panel:
        return too_few(settings.small_panel)
    table = np.delete(layout.means, row, axis=0)
    fit = additive(table)
    own = layout.means[row]
    why = _too_little(fit, least_span, settings)
    if why is None and np.sum(~(np.isnan(own) | np.isnan(fit.columns))) < 2:
        why = "fewer than two samples in common with the others"
    f = fit.f if fit.f is not None else float("inf")
    names = [name for name in layout.assessors if name != layout.assessors[row]]
    each = dict(zip(names, table, strict=True))
    return why or Told(layout.samples, own, fit.columns, fit.variance, len(table), f, each)


def _too_little(fit: Additive, least_span: float, settings: AgreementSettings) -> str | None:
    """Why nobody can be judged beside these others; None when it may be done."""
    if fit.rank < 1 or fit.df < 1:
        return "the others share too few samples"
    if fit.f is not None and (fit.f <= 0.0 or 1.0 - 1.0 / fit.f < settings.second_look_reliability):
        return NOT_TOLD_APART
    if float(np.ptp(fit.columns[~np.isnan(fit.columns)])) < least_span:
        return too_near(settings.tolerance)
    return None


@dataclass(frozen=True)
class WithPanel:
    """How somebody reads beside the others.

    Attributes
    ----------
    correlation
        Mean over the notes that the others told apart; None where there is none.
    p
        Chance of so much if the person's glasses meant nothing.
    n_notes, n_sessions
        Behind it: notes counted once a session.
    more, short
        About so many more sessions of other casks would decide; None where it is decided or
        nothing is known, or where enough is known and the correlation falls short.
    passed, against
        Whether the person reads with the panel, or surely the other way round.
    """

    correlation: float | None = None
    p: float | None = None
    n_notes: int = 0
    n_sessions: int = 0
    more: int | None = None
    short: bool = False
    passed: bool = False
    against: bool = False


def reads_with(
    sessions: Sequence[Sequence[Told]], settings: AgreementSettings, seed: int = 1
) -> WithPanel:
    """Say whether one person reads with the others.

    Parameters
    ----------
    sessions
        The notes told apart by the others, session by session.
    settings
        `with_panel_correlation` and `with_panel_p` are both asked for.
    seed
        Of the rearrangements.

    Returns
    -------
    WithPanel

    Notes
    -----
    The statistic is the mean correlation with the others' means over notes and sessions. Under
    the null the person's whole glasses change places, all notes of a glass together: notes that
    move together count once, and one who repeats himself gains nothing by it. They do so
    among the samples of one session, or that came equally often by turns, and in all sessions at
    once, so that a lasting opinion of a sample that comes again counts once too (`shared`).
    Up to six glasses every order is tried.

    Examples
    --------
    >>> others = np.array([10.0, 20.0, 30.0, 40.0, 60.0])
    >>> note = Told(tuple("vwxyz"), others + [1.0, -2.0, 0.0, 2.0, 1.0], others, 9.0, 7, 40.0)
    >>> reads_with([[note]], AgreementSettings()).passed
    True
    """
    used = [notes for notes in sessions if notes]
    n_notes = sum(len(notes) for notes in used)
    if not n_notes:
        return WithPanel()
    standings, classes = shared(used)
    exact = len(classes) == 1 and len(classes[0]) <= _ALL_ORDERS
    drawn = np.zeros(1)
    for at, places in enumerate(classes):
        n = len(places)
        orders = every_order(n) if exact else drawn_orders(n, settings.permutations, seed + at)
        drawn = drawn + standings[places, places[orders]].sum(axis=1)
    seen = float(np.trace(standings))
    p, p_against = (
        _share(part, exact=exact) for part in (drawn >= seen - 1e-9, drawn <= seen + 1e-9)
    )
    correlation = seen / n_notes
    least, sure = settings.with_panel_correlation, settings.with_panel_p
    passed = correlation >= least and p <= sure
    against = correlation <= -least and p_against <= sure
    spread = float(drawn.std()) / n_notes
    times = len(used) * ((_Z * spread / max(correlation, least)) ** 2 - 1.0)
    short = not passed and not against and times <= 0.0 and correlation < least
    more = None
    if not (passed or against or short):
        more = max(1, int(np.ceil(times)), _to_be_sure([len(part) for part in classes], used, sure))
    return WithPanel(correlation, p, n_notes, len(used), more, short, passed, against)


def _to_be_sure(classes: Sequence[int], sessions: Sequence[Sequence[Told]], sure: float) -> int:
    """Sessions like these, of other casks, until chance could be as rare as is asked for.

    With so many orders in all, the one that was poured is one of them at the rarest: of two casks
    it is one half, and one half to the power of the sessions for two others in each.
    """
    lacking = -math.log(sure) - sum(math.lgamma(n + 1.0) for n in classes)
    if lacking <= 0.0:
        return 0
    poured = [max(int(np.sum(~np.isnan(note.own))) for note in notes) for notes in sessions]
    each = float(np.mean([math.lgamma(n + 1.0) for n in poured]))
    return math.ceil(lacking / each - 1e-9) if each > 0.0 else 0


def _share(hits: np.ndarray, *, exact: bool) -> float:
    """Share of the orders, the one that was poured among them."""
    n = float(np.count_nonzero(hits))
    return n / len(hits) if exact else (1.0 + n) / (len(hits) + 1.0)
