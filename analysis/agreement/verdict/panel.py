"""Sentences on a descriptor of a session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...counted import count, plural
from ...digits import in_digits
from ..settings import AgreementSettings
from .words import (
    AT_THE_REVEAL,
    CAMPS_ACTION,
    ONE_MIND_ACTION,
    OWN_ORDER,
    PanelWord,
    Verdict,
    capital,
    listed,
    points,
)


@dataclass(frozen=True)
class DescriptorFacts:
    """What the verdict on a descriptor leans on; distances in points of the 0-100 line.

    Attributes
    ----------
    n_hidden
        Blind duplicates that were poured and that only the reveal tells.
    span
        From the lowest to the highest sample mean.
    seen_difference
        Difference between two samples that this panel sees four times in five.
    repeat_points
        Within so many points the panel mean of a glass nosed again would lie, 19 times in 20.
    significant
        Whether the sample effect stands among all descriptors of the session.
    mostly_zero
        Whether the sample effect was judged by permutation because zeros prevail.
    alike, at_most, over_visits
        Whether the samples are surely within the tolerance of one another, by how much no two of
        them differ at most, and how far apart their means over all visits are.
    more
        About so many sessions like this one would find like samples alike.
    absent
        Whether every score is the low end of the line.
    one_mind
        Whether every assessor gave the samples exactly the same differences: no error is left.
    one_order
        Whether everybody had the glasses in the same order.
    camps
        Who reads the note one way and who the opposite way; None where there are no two camps.
    """

    descriptor: str
    n_assessors: int
    n_samples: int
    n_duplicates: int
    n_hidden: int
    reliability: float | None
    reliability_low: float | None
    significant: bool
    span: float | None
    seen_difference: float | None
    repeat_points: float | None
    mostly_zero: bool
    reason: str | None
    alike: bool = False
    at_most: float | None = None
    over_visits: float | None = None
    more: int | None = None
    absent: bool = False
    one_mind: bool = False
    one_order: bool = False
    camps: tuple[tuple[str, ...], tuple[str, ...]] | None = None


def descriptor_verdict(facts: DescriptorFacts, settings: AgreementSettings) -> Verdict[PanelWord]:
    """Judge one descriptor of a session."""
    unjudged = _unjudged(facts, settings)
    if unjudged is not None:
        return unjudged
    small = facts.n_assessors < settings.small_panel
    if _safe(facts, settings) and not small:
        return _safe_sentence(facts)
    if facts.alike:
        return _alike_sentence(facts)
    if _second(facts, settings):
        return _second_sentence(facts, small)
    seen = facts.seen_difference
    if seen is not None and seen <= settings.coarse_multiple * settings.tolerance:
        return _cannot_tell_sentence(facts)
    return _do_not_sentence(facts, small)


def _unjudged(facts: DescriptorFacts, settings: AgreementSettings) -> Verdict[PanelWord] | None:
    """What stands instead of a verdict where there can be none."""
    if facts.one_order and not facts.absent:
        return _order_sentence(facts)
    lacking = _lacking(facts, settings)
    if lacking or facts.n_duplicates < settings.least_duplicates:
        return _too_little(facts, lacking)
    if facts.one_mind or facts.seen_difference == 0.0:
        return _alike_sentence(facts) if facts.span == 0.0 else _one_mind_sentence(facts)
    return None if facts.camps is None else _camps_sentence(facts.descriptor, *facts.camps)


def _safe(facts: DescriptorFacts, settings: AgreementSettings) -> bool:
    value, low = facts.reliability, facts.reliability_low
    return (
        value is not None
        and low is not None
        and value >= settings.safe_reliability
        and low >= settings.safe_low
        and facts.significant
    )


def _second(facts: DescriptorFacts, settings: AgreementSettings) -> bool:
    enough = facts.reliability is not None and (
        facts.reliability >= settings.second_look_reliability
    )
    return enough and facts.significant


def _lacking(facts: DescriptorFacts, settings: AgreementSettings) -> list[str]:
    """What is missing for a verdict, most to be done first."""
    missing = []
    if facts.n_assessors < 2:
        missing.append("a second assessor")
    if facts.n_samples < settings.least_samples:
        more = settings.least_samples - facts.n_samples
        missing.append(f"{more} more {plural('sample', more)} in the session")
    poured = facts.n_duplicates + facts.n_hidden
    if poured < settings.least_duplicates:
        more = settings.least_duplicates - poured
        missing.append(f"{more} more blind {plural('duplicate', more)}")
    return missing


def _camps_sentence(
    descriptor: str, one: tuple[str, ...], other: tuple[str, ...]
) -> Verdict[PanelWord]:
    said = (
        f"On {descriptor} the panel is in two camps, each of one mind: {listed(other)} put the "
        f"glasses the opposite way round from {listed(one)}, and the means cancel out"
    )
    return Verdict(PanelWord.CAMPS, said, CAMPS_ACTION)


def _one_mind_sentence(facts: DescriptorFacts) -> Verdict[PanelWord]:
    said = (
        f"On {facts.descriptor} every assessor gave the samples exactly the same differences, "
        f"{points(facts.span)} from lowest to highest: there is no error to reckon by, and how far "
        "such a panel may be wrong is not known"
    )
    return Verdict(PanelWord.ONE_MIND, said, ONE_MIND_ACTION)


def _order_sentence(facts: DescriptorFacts) -> Verdict[PanelWord]:
    said = (
        f"On {facts.descriptor} the sample means lie {points(facts.span)} apart, but everybody had "
        "the glasses in one order: a note that fades or builds up along the tray does the same"
    )
    return Verdict(PanelWord.ORDER, said, OWN_ORDER)


def _too_little(facts: DescriptorFacts, lacking: Sequence[str]) -> Verdict[PanelWord]:
    action, seen = AT_THE_REVEAL, ""
    if lacking:
        action = f"add {listed(lacking)} before anybody leans on this note"
    if facts.span is not None and facts.n_assessors > 1:
        sure = ", more than chance would do" if facts.significant else ""
        seen = f"; so far the sample means lie {points(facts.span)} apart{sure}"
    sentence = (
        f"{capital(facts.descriptor)} has {facts.n_samples} {plural('sample', facts.n_samples)}, "
        f"{_duplicates(facts)} and "
        f"{facts.n_assessors} {plural('assessor', facts.n_assessors)} behind it{seen}"
    )
    return Verdict(PanelWord.TOO_LITTLE, sentence, action)


def _duplicates(facts: DescriptorFacts) -> str:
    known = f"{facts.n_duplicates} blind {plural('duplicate', facts.n_duplicates)}"
    return f"{known} told yet" if facts.n_hidden else known


def _safe_sentence(facts: DescriptorFacts) -> Verdict[PanelWord]:
    sentence = (
        f"The panel told the samples apart on {facts.descriptor}, "
        f"{points(facts.span)} from lowest to highest, and would place them so again "
        f"(reliability {in_digits(facts.reliability, '.2f')}, at least "
        f"{in_digits(facts.reliability_low, '.2f')})"
    )
    return Verdict(PanelWord.SAFE, sentence, "use these means as they stand")


def _second_sentence(facts: DescriptorFacts, small: bool) -> Verdict[PanelWord]:
    why = (
        f"with {count(facts.n_assessors, 'assessor')} one nose can decide it, and " if small else ""
    )
    seen = ""
    if facts.seen_difference is not None:
        seen = f" and trust differences of {points(facts.seen_difference)} or more only"
    sentence = (
        f"The panel puts the samples {points(facts.span)} apart on {facts.descriptor}, but "
        f"{why}the order may change (reliability {in_digits(facts.reliability, '.2f')})"
    )
    return Verdict(PanelWord.SECOND_LOOK, sentence, f"nose the deciding pair once more{seen}")


def _alike_sentence(facts: DescriptorFacts) -> Verdict[PanelWord]:
    action = "choose between them by another note"
    if facts.absent:
        said = f"{capital(facts.descriptor)} is not there in any glass"
        return Verdict(PanelWord.ALIKE, said, action)
    apart = "" if facts.span is None else f", {_from_lowest(facts)}"
    most = "nobody scored one unlike another" if facts.at_most is None else _no_two(facts)
    said = f"The casks are alike on {facts.descriptor}{apart}, {most}"
    return Verdict(PanelWord.ALIKE, said, action)


def _from_lowest(facts: DescriptorFacts) -> str:
    """How far apart the means are; over all visits where those say something else."""
    tonight, visits = points(facts.span), points(facts.over_visits)
    if facts.over_visits is None or visits == tonight:
        return f"{tonight} from lowest to highest"
    return f"{tonight} from lowest to highest, {visits} over all visits to them"


def _no_two(facts: DescriptorFacts) -> str:
    """By how much no two samples differ at most; by all visits to them where there are several."""
    by = "" if facts.over_visits is None else ", by all visits to them,"
    return f"no two{by} differ by more than {points(facts.at_most)}"


def _cannot_tell_sentence(facts: DescriptorFacts) -> Verdict[PanelWord]:
    most = ""
    if facts.at_most is not None:
        most = f"; {_no_two(facts)}"
    said = (
        f"On {facts.descriptor} the samples are neither surely apart nor surely alike, "
        f"{_from_lowest(facts)}{most}"
    )
    action = "nose the flight again with more assessors"
    if facts.more is not None:
        more = facts.more - 1
        action = f"{count(more, 'more session')} like this would do to call like casks alike"
    return Verdict(PanelWord.CANNOT_TELL, said, action)


def blanks_sentence(n: int, below: float) -> str:
    """Say that blanks hang on the level; distances in points of the 0-100 line."""
    return (
        f"{count(n, 'line')} left blank where the others score low, {points(below)} below the "
        "other glasses: the means are too high, and a note that is not there is a 0, not a blank"
    )


def never_scored_sentence(samples: Sequence[str]) -> str:
    """Say which samples everybody left blank, so that nothing here holds of them."""
    one = len(samples) == 1
    return (
        f"nobody scored {', '.join(samples)} on it: what is said of this note is said without "
        f"{'it' if one else 'them'}, and a note that is not there is a 0, not a blank"
    )


def _do_not_sentence(facts: DescriptorFacts, small: bool) -> Verdict[PanelWord]:
    if facts.reason is not None and facts.seen_difference is None:
        sentence = f"{capital(facts.descriptor)} cannot be judged: {facts.reason}"
        return Verdict(PanelWord.DO_NOT, sentence, "nose it again before deciding by it")
    repeats = ""
    if facts.repeat_points is not None:
        repeats = f", and repeats only within {points(facts.repeat_points)}"
    who = f"A panel of {facts.n_assessors}" if small else "The panel"
    sentence = (
        f"{who} did not agree on {facts.descriptor}: it would miss a difference of less than "
        f"{points(facts.seen_difference)}{repeats}"
    )
    action = "nose the reference of this note together, then repeat the flight"
    if small:
        action = "decide by it only where casks differ by more, or ask two more assessors"
    return Verdict(PanelWord.DO_NOT, sentence, action)
