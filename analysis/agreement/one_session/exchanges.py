"""Two glasses exchanged, a tray moved on by one, two trays exchanged: which reads likeliest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Codes, Vector
from ..settings import AgreementSettings
from .swaps import Exchange, Swap
from .trays import Panel, Tray, TrayNote

_PAIR, _MOVED, _TRAYS = 0.05, 0.01, 0.03
"""Share of trays to which each happened, before looking (house figures)."""
_WHOLE_SAMPLES = 1.0 / 3.0
"""Of the pairs, the share in which all glasses of two samples changed places: bottles mistaken."""
_LEAST_SAMPLES = 3
_LEAST_PLACES = 4
_MOST_ODDS = 1e6


def find_exchanges(notes: Sequence[TrayNote], settings: AgreementSettings) -> Mapping[str, Swap]:
    """Look for trays that read otherwise than they were recorded.

    Parameters
    ----------
    notes
        All notes of the session, the order of serving taken out.
    settings
        `flag_probability` is the least chance to speak of; under what is said the person must
        read with the others (`with_panel_correlation`).

    Returns
    -------
    mapping
        By assessor, where something is likely; a pair that the lead marked as suspected is given
        whatever its odds.

    Notes
    -----
    A tray is weighed as a whole, all notes together: what is left of a glass beside the others'
    means (drawn to their middle as far as the note is unreliable) is Student's over its notes,
    with the covariance that the others' glasses have, times a width of the person's own that is
    summed over. So notes that go astray together count once, and one who is unsteady has to be
    much likelier otherwise. Priors: a pair 5 in 100 trays, spread over its pairs, the tray moved
    on by one place, around, either way 1, the trays of two people exchanged 3.
    """
    panel = Panel.of(notes)
    if panel is None or len(panel.people) < settings.small_panel:
        return {}
    trays = [Tray.of(panel, code) for code in range(len(panel.people))]
    found = {}
    for tray in trays:
        if len(np.unique(tray.samples)) < _LEAST_SAMPLES:
            continue
        likeliest = _likeliest(tray, trays, settings)
        if likeliest is not None:
            found[panel.people[tray.code]] = likeliest
    return found


@dataclass(frozen=True)
class _Case:
    """One thing that may have happened: its log odds for the tray as recorded."""

    log_odds: float
    samples: Codes
    kind: Exchange
    first: int = 0
    second: int = 0
    whole: bool = False
    other: str | None = None
    by: int | None = None


@dataclass(frozen=True)
class _Pairs:
    """Pairs that may have changed places: of glasses first, then of whole samples."""

    log_odds: Vector
    first: Codes
    second: Codes
    n_glasses: int

    def at(self, glasses: tuple[int, int] | None) -> int | None:
        """Where two glasses stand; None for none."""
        if glasses is None:
            return None
        found = (self.first == glasses[0]) & (self.second == glasses[1])
        places = np.flatnonzero(found[: self.n_glasses])
        return int(places[0]) if len(places) else None

    def case(self, place: int, tray: Tray) -> _Case:
        """One of them in full."""
        i, j = int(self.first[place]), int(self.second[place])
        whole, samples = place >= self.n_glasses, tray.samples
        other = samples.copy()
        if whole:
            other[samples == i], other[samples == j] = j, i
        else:
            other[i], other[j] = samples[j], samples[i]
        return _Case(float(self.log_odds[place]), other, Exchange.PAIR, i, j, whole)


def _likeliest(tray: Tray, trays: Sequence[Tray], settings: AgreementSettings) -> Swap | None:
    pairs, others = _pairs(tray), [*_moved(tray), *_exchanged_trays(tray, trays)]
    log_odds = np.concatenate([pairs.log_odds, [case.log_odds for case in others]])
    peak = max(float(log_odds.max()), 0.0)
    weights = np.exp(log_odds - peak)
    chances: Vector = weights / (weights.sum() + np.exp(-peak))
    marked = pairs.at(_marked(tray))
    if marked is not None:
        return _swap(tray, pairs.case(marked, tray), float(chances[marked]), marked=True)
    best = int(chances.argmax())
    n = len(pairs.log_odds)
    case = pairs.case(best, tray) if best < n else others[best - n]
    chance = float(chances[best])
    fits = tray.fit(case.samples) >= settings.with_panel_correlation
    return _swap(tray, case, chance) if chance >= settings.flag_probability and fits else None


def _marked(tray: Tray) -> tuple[int, int] | None:
    """The two glasses that the lead marked, as places on the tray."""
    found = np.flatnonzero(tray.panel.suspected[tray.glasses])
    return (int(found[0]), int(found[1])) if len(found) == 2 else None


def _pairs(tray: Tray) -> _Pairs:
    """Every two glasses of unlike samples; every two samples too, where any is repeated."""
    samples = tray.samples
    first, second = np.triu_indices(len(samples), 1)
    unlike = samples[first] != samples[second]
    first, second = first[unlike], second[unlike]
    used, counts = np.unique(samples, return_counts=True)
    one, two = np.triu_indices(len(used), 1)
    # Of two samples with one glass each that is what exchanging the glasses is.
    repeated = (counts[one] > 1) | (counts[two] > 1)
    one, two = used[one[repeated]], used[two[repeated]]
    share = 1.0 - _WHOLE_SAMPLES if len(one) else 1.0
    glasses = _log_prior(_PAIR * share, len(first)) + tray.pairs()[first, second]
    whole = _log_prior(_PAIR * _WHOLE_SAMPLES, len(one)) + tray.whole_samples()[one, two]
    return _Pairs(
        log_odds=np.concatenate([glasses, whole]),
        first=np.concatenate([first, one]),
        second=np.concatenate([second, two]),
        n_glasses=len(first),
    )


def _moved(tray: Tray) -> list[_Case]:
    """The tray moved on by one place, either way around."""
    if tray.places is None or len(tray.places) < _LEAST_PLACES:
        return []
    prior = _log_prior(_MOVED, 2)
    found = []
    for by in (1, -1):
        other = np.roll(tray.samples, -by)
        found.append(_Case(prior + tray.as_samples(other), other, Exchange.MOVED, by=by))
    return found


def _exchanged_trays(tray: Tray, trays: Sequence[Tray]) -> list[_Case]:
    """This tray and each other one with the same places."""
    found: list[_Case] = []
    if tray.places is None:
        return found
    prior = _log_prior(_TRAYS, len(trays) - 1)
    for other in trays:
        if other is tray or other.places is None:
            continue
        if not np.array_equal(tray.places, other.places):
            continue
        if np.array_equal(tray.samples, other.samples):
            continue
        gain = tray.as_samples(other.samples) + other.as_samples(tray.samples)
        name = tray.panel.people[other.code]
        found.append(_Case(prior + gain, other.samples, Exchange.TRAYS, other=name))
    return found


def _log_prior(share: float, cases: int) -> float:
    return float(np.log(share / max(cases, 1) / (1.0 - _PAIR - _MOVED - _TRAYS)))


def _swap(tray: Tray, case: _Case, chance: float, *, marked: bool = False) -> Swap:
    samples, replicates = _named(tray, case)
    return Swap(
        samples=samples,
        replicates=replicates,
        probability=chance,
        odds=min(chance / max(1.0 - chance, 1e-300), _MOST_ODDS),
        n_notes=_speaking(tray, case),
        marked=marked,
        kind=case.kind,
        other=case.other,
        by=case.by,
        apart=_apart(tray, case),
    )


def _named(tray: Tray, case: _Case) -> tuple[tuple[str, ...], tuple[int, int] | None]:
    """Samples and replicates of a pair."""
    if case.kind is not Exchange.PAIR:
        return (), None
    panel = tray.panel
    if case.whole:
        return (panel.samples[case.first], panel.samples[case.second]), None
    one, two = int(tray.glasses[case.first]), int(tray.glasses[case.second])
    both = sorted((panel.samples[panel.sample[at]], int(panel.replicate[at])) for at in (one, two))
    return (both[0][0], both[1][0]), (both[0][1], both[1][1])


def _speaking(tray: Tray, case: _Case) -> int:
    """Notes that lie nearer to the others with it than without."""
    panel, own = tray.panel, tray.panel.centred[tray.glasses]
    off = [
        np.nansum((own - panel.others[tray.code][which]) ** 2, axis=0)
        for which in (tray.samples, case.samples)
    ]
    return int(np.count_nonzero(panel.told & (off[1] < off[0])))


def _apart(tray: Tray, case: _Case) -> float | None:
    """Points between the two samples of a pair, root mean square over the notes told apart."""
    if case.kind is not Exchange.PAIR:
        return None
    one, two = case.first, case.second
    if not case.whole:
        one, two = int(tray.samples[one]), int(tray.samples[two])
    others = tray.panel.others[tray.code]
    found = (others[one] - others[two]) / tray.panel.reliability
    return float(np.sqrt(np.mean(found[tray.panel.told] ** 2)))
