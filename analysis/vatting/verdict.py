"""Every sentence that is said of a vatting, in one place."""

from __future__ import annotations

from collections.abc import Sequence

from ..chance_words import in_100
from ..digits import as_here
from .conflict import Conflict
from .limits import LimitKey, LimitKind, Limits
from .mixture import Mixture
from .prices import Price
from .reach import Reach, ReachedLine
from .solve import PROVEN_GAP
from .stand_ins import StandIn

BENCH = (
    "Mix it on the bench and nose it blind against the target before anything is signed: a "
    "mixture often smells of less than its parts would have it."
)
LABEL = (
    "What age and strength may stand on a label, and what may be vatted and reduced where, "
    "follows local law: check with your excise officer and your label adviser."
)
VAPOUR = (
    "Spirit at cask strength gives off flammable vapour at room temperature: no flame or "
    "spark near it, and nobody enters a vat; follow the local codes."
)
_SHOWS = 0.015
"""A difference of chances below this is within the noise of simulation and search."""
_SURE = 0.8
_TO_THE_BENCH = "mix it on the bench and nose it blind against the target"
_EVEN = 0.5
_NAMED = 4
"""Casks that a sentence names."""


def listed(words: Sequence[str]) -> str:
    """Words with commas and an `and`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def limit_words(key: LimitKey, limits: Limits) -> str:
    """One limit as a blender would name it."""
    excess = f"at most {100 * limits.window:g} % over {limits.quantity_words}"
    words = {
        LimitKind.QUANTITY: limits.quantity_words,
        LimitKind.EXCESS: excess,
        LimitKind.STRENGTH: f"the bottling strength of {limits.abv_percent or 0:g} % vol",
        LimitKind.AGE: f"the age statement of {limits.age_statement_years or 0} years",
        LimitKind.CASKS_MIN: f"at least {_casks(limits.casks_min or 0)}",
        LimitKind.CASKS_MAX: f"at most {_casks(limits.casks_max or 0)}",
        LimitKind.WHOLE: "taking casks whole",
        LimitKind.SMALLEST_DRAW: f"the smallest draw of {limits.smallest_draw_litres:g} L",
        LimitKind.LEAVE: f"leaving {limits.leave_litres or 0:g} L or nothing",
        LimitKind.MUST_EXCLUDE: "the casks left out by name",
        LimitKind.CASK_LPA: f"at least {limits.minimum_cask_lpa:g} LPA from a cask",
        LimitKind.GAUGE: f"regauges of at most {limits.gauge_max_age_years or 0:g} years",
        LimitKind.RESERVED: "what is reserved for other releases",
        LimitKind.BARRED: "what forbids a cask",
    }
    if key.kind is LimitKind.SHARE:
        return f"the share {limits.shares[key.which].words}"
    if key.kind is LimitKind.MUST_INCLUDE:
        return f"cask {limits.must_include[key.which]} being in"
    return words[key.kind]


def _casks(number: int) -> str:
    return "1 cask" if number == 1 else f"{number} casks"


def plan_sentence(mixture: Mixture, reach: Reach) -> str:
    """What the vatting is and how sure it is."""
    more = [foretold_words(mixture), "" if reach.reachable else reach_sentence(reach)]
    return " ".join([given_sentence(mixture), *(each for each in more if each)])


def given_sentence(mixture: Mixture) -> str:
    """What some casks give, and how sure it is that every line is within tolerance."""
    poured, expected = mixture.poured, mixture.expectation
    count = len(mixture.parts)
    casks = "1 cask gives" if count == 1 else f"{count} casks give"
    lines = len(expected.lines)
    every = "the line is" if lines == 1 else f"all {lines} lines are"
    worst = next(line for line in expected.lines if line.descriptor == expected.worst_descriptor)
    said = (
        f"{casks} {poured.bottles:,} bottles at {poured.bottling_abv_percent:.1f} % vol with a "
        f"chance of {in_100(mixture.probability)} that {every} within tolerance"
    )
    if lines > 1:
        said += f"; least sure is {worst.descriptor} ({in_100(worst.probability)})"
    return f"{said}."


def tried_sentence(mixture: Mixture) -> str:
    """What litres come to that were put together by hand."""
    said = f"Put together by hand: {given_sentence(mixture)}"
    return " ".join(filter(None, (said, foretold_words(mixture))))


def tried_action(mixture: Mixture, n_broken: int) -> str:
    """What to do with litres that were put together by hand."""
    worst = mixture.expectation.worst_descriptor
    if n_broken:
        return "change casks or litres until every limit is kept"
    if mixture.foretold:
        return f"draw and nose {_unnosed_words(mixture)} first: what nobody nosed is not reserved"
    if mixture.probability >= _SURE:
        return _TO_THE_BENCH
    if mixture.probability >= _EVEN:
        return f"mix it on the bench, nose it blind, and look at {worst} first"
    return f"change casks or litres for {worst} before mixing"


def _unnosed_words(mixture: Mixture) -> str:
    more = " and the others never nosed" if len(mixture.foretold) > _NAMED else ""
    return f"cask {listed(mixture.foretold[:_NAMED])}{more}"


def foretold_words(mixture: Mixture) -> str:
    """Say which casks nobody nosed; empty where all were."""
    named = mixture.foretold
    if not named:
        return ""
    shown = named if len(named) <= _NAMED else (*named[:_NAMED], f"{len(named) - _NAMED} more")
    casks = "Cask" if len(named) == 1 else "Casks"
    was, its = ("was", "its notes are") if len(named) == 1 else ("were", "their notes are")
    return (
        f"{casks} {listed(shown)} {was} never nosed: {its} foretold from wood, fill, age and peat, "
        "and the chance counts how wide that is."
    )


def reach_sentence(reach: Reach) -> str:
    """Whether the target can be reached at all, and what stops it."""
    if reach.reachable or reach.stopping is None:
        return "Casks that may go in can reach every line together."
    stop = next(line for line in reach.lines if line.descriptor == reach.stopping)
    others = [line for line in reach.lines if line.outside > 0 and line is not stop]
    said = (
        f"No vatting under these limits reaches every line: {stop.descriptor} stops it, "
        f"{_nearest(stop)}"
    )
    if others:
        said += "; beside it " + listed([f"{line.descriptor}, {_nearest(line)}" for line in others])
    return f"{said}."


def _nearest(line: ReachedLine) -> str:
    said = f"{line.nearest:.1f} at the nearest for {line.aim:g} ± {line.tolerance:g}"
    if line.highest_cask < line.aim - line.tolerance:
        return f"{said} (no cask has more than {line.highest_cask:.1f})"
    if line.lowest_cask > line.aim + line.tolerance:
        return f"{said} (no cask has less than {line.lowest_cask:.1f})"
    return said


def quality_sentence(gap: float, proven: bool, kappa: float) -> str:
    """How good the answer is beside the best there could be."""
    band = "tolerance"
    if kappa > 0.0:
        band = f"tolerance drawn in by {kappa:g} standard deviations"
    if proven:
        said = f"Proven for the {band}: no other choice of casks is better by {PROVEN_GAP:g} points"
    else:
        said = (
            f"Not proven for the {band}: another choice of casks could be better by {gap:.3f} "
            "points at most"
        )
    return f"{said}."


def first_sentence(first: Mixture, answers: Sequence[Mixture] | None) -> str:
    """Say among what the first answer is the surest, and how well simulation tells that."""
    among = "the bands tried" if answers is None else "the bands tried and of the answers listed"
    said = (
        f"The chance is the greatest of {among}, not of all choices. Some simulated vattings "
        f"choose, others tell the chance: by simulation alone it errs by {_error_words(first)}"
    )
    surer = [
        f"answer {number} ({_to_a_thousandth(other)} against {_to_a_thousandth(first)})"
        for number, other in enumerate(answers or (), 1)
        if other.probability > first.probability
    ]
    if not surer:
        return f"{said}."
    it, is_it = ("it", "it is") if len(surer) == 1 else ("them", "they are")
    return (
        f"{said}. Those that tell put {listed(surer)} higher, but {is_it} not first, since those "
        f"that choose put {it} lower."
    )


def _error_words(mixture: Mixture) -> str:
    """Two standard errors of simulation."""
    error = 2.0 * mixture.probability_se
    if error < 0.001:
        return f"less than {as_here('.001')}"
    return "±" + f"{error:.3f}".lstrip("0")


def _to_a_thousandth(mixture: Mixture) -> str:
    return f"{mixture.probability:.3f}".lstrip("0")


def next_action(
    mixture: Mixture, reach: Reach, limits: Limits, prices: Sequence[Price] = ()
) -> str:
    """What to do with the plan; *prices* the dearest first, none where they were not asked."""
    worst = mixture.expectation.worst_descriptor
    if mixture.foretold and mixture.probability >= _EVEN:
        what = "it" if len(mixture.foretold) == 1 else "them"
        unnosed = _unnosed_words(mixture)
        return f"draw and nose {unnosed} first, and choose again once you know {what}"
    if not reach.reachable:
        return f"change the aim of {reach.stopping}, or widen its tolerance"
    if mixture.probability >= _SURE:
        return _TO_THE_BENCH
    if mixture.probability >= _EVEN:
        return f"mix it on the bench, nose it blind, and look at {worst} first"
    if prices and mixture.probability + prices[0].probability_cost >= _EVEN:
        dearest = limit_words(prices[0].key, limits)
        return f"loosen {dearest}, which alone keeps the chance below even, before mixing"
    return f"nose the casks again for {worst}, or widen its tolerance, before mixing"


def conflict_sentence(conflict: Conflict, limits: Limits) -> str:
    """Which limits cannot stand together."""
    words = [limit_words(key, limits) for key in conflict.keys]
    if not words:
        return (
            "No vatting was found in the time given, and no limit was shown to stand in the "
            "way. Allow parts of casks, a wider share or more time."
        )
    if len(words) == 1:
        return f"No vatting exists: {words[0]} cannot be met by the casks that may go in."
    if not conflict.proven:
        return (
            f"No vatting was found that keeps {listed(words)} together, though that there is "
            "none is not proven. Change any one of them."
        )
    return (
        f"No vatting exists: {listed(words)} cannot stand together. Change any one of them and "
        "the others can be kept."
    )


def price_sentence(price: Price, limits: Limits) -> str:
    """What a limit costs."""
    words = limit_words(price.key, limits)
    costs = []
    if price.casks_barred:
        s = "" if price.casks_barred == 1 else "s"
        costs.append(f"{price.casks_barred:,} cask{s} to choose from")
    if price.probability_cost >= _SHOWS:
        costs.append(f"{price.probability_cost:.2f} of probability{_by_more(price)}")
    if not costs:
        return f"{words[0].upper()}{words[1:]}: costs nothing that shows."
    tail = "" if price.probability_cost >= _SHOWS else ", and no probability that shows"
    return f"{words[0].upper()}{words[1:]}: costs {listed(costs)}{tail}."


def _by_more(price: Price) -> str:
    """How much more would have to be bottled; only of the limit that forbids it."""
    if price.key.kind is not LimitKind.EXCESS:
        return ""
    return f" (what {100.0 * price.excess_without:.0f} % over would give)"


def stand_in_sentence(found: StandIn) -> str:
    """What to use if a cask fails."""
    if found.cask is None or found.probability is None:
        return (
            f"If cask {found.failed} fails, no single cask can stand in: choose again without it."
        )
    unnosed = " (never nosed)" if found.foretold else ""
    return (
        f"If cask {found.failed} fails, take {found.litres or 0:.1f} L of cask {found.cask}"
        f"{unnosed}: the chance is then {in_100(found.probability)}."
    )
