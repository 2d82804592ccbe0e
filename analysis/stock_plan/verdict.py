"""Every sentence that is said of a plan of the stock, in one place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from math import hypot

from ..bars import Bar
from ..chance_words import in_100
from ..counted import plural
from ..digits import in_digits
from ..vatting.eligible import Reason, Unfit
from ..vatting.verdict import LABEL, VAPOUR, listed
from .chances import Chances
from .result import (
    CUT_SHORT,
    PROVEN_GAP,
    SURE_ENOUGH,
    Ended,
    HadElsewhere,
    MendKind,
    ReleasePlan,
    WhyFewer,
)

RESERVES_NOTHING = (
    "The plan reserves nothing: a cask is taken once a release proposed from it is, and until then "
    "may go elsewhere."
)
CAUTIONS = (RESERVES_NOTHING, LABEL, VAPOUR)
BY_POINTS = (
    "Points are what lies outside the tolerances, drawn in by what estimates may err, and a "
    "thousand for a release that is missing. They are sought first, and chance only then: a surer "
    "plan may exist."
)
_NAMED = 3
_FITS: Mapping[Reason, str] = {
    Bar.GAUGE: "regauge",
    Bar.UNGAUGED: "gauge",
    Unfit.UNKNOWN: "draw and nose",
    Unfit.APART: "nose once more, beside what the others share,",
}
"""What is done to a cask so that it may go in; of the others nothing is."""
_LEAST_SURER, _ERRORS = 0.01, 2.0
"""A chance is told as higher by a hundredth at least, and by two of its standard errors."""


def plan_sentence(
    releases: Sequence[ReleasePlan],
    joint: float | None,
    joint_of: int,
    last_year: int,
    *,
    cut: Ended | None = None,
    still_open: Sequence[str] = (),
    mends_open: Sequence[str] = (),
    together_open: bool = False,
) -> str:
    """What the plan comes to, in a sentence or three; first that the search was cut, where so."""
    good = [each for each in releases if not each.fails]
    told = [_how_many(len(good), len(releases), last_year), *_how_sure(good)]
    if joint is not None and joint_of > 1:
        told.append(f"{'both' if joint_of == 2 else f'all {joint_of}'} together {in_100(joint)}")
    said = ", ".join(told) + "."
    failing = [each for each in releases if each.fails and each.name not in still_open]
    told = [said, *(fails_sentence(each) for each in failing[:_NAMED])]
    if more := [each.name for each in failing[_NAMED:]]:
        told.append(f"{_first_few(more)} {plural('fails', len(more), 'fail')} too.")
    if still_open:
        told.append(f"Whether there are casks for {listed(still_open)} is still open.")
    told += _not_looked_for(mends_open, together_open)
    return " ".join([*([] if cut is None else [cut_sentence(cut)]), *told])


def _not_looked_for(mends_open: Sequence[str], together_open: bool) -> Iterator[str]:
    """What was not looked for to its end once the casks were chosen."""
    things = [
        *([f"what would mend {listed(mends_open)}"] if mends_open else []),
        *(["what cannot stand together and what can be had instead"] if together_open else []),
    ]
    if things:
        yield f"Not looked for to the end is {listed(things)}: {Ended.TIME.value}."


def _first_few(names: Sequence[str]) -> str:
    """The first few, and how many more there are."""
    more = len(names) - _NAMED
    if more > 0:
        return f"{', '.join(names[:_NAMED])} and {more} more"
    return listed(names)


def _how_many(good: int, of: int, last_year: int) -> str:
    """How many releases there are casks for."""
    if of == 1:
        return f"The one release by {last_year} {'can be made' if good else 'fails'}"
    if good < of:
        return f"{good} of {of} releases by {last_year}"
    return f"{'Both' if of == 2 else f'All {of}'} releases by {last_year}"


def _how_sure(good: Sequence[ReleasePlan]) -> Iterator[str]:
    """The chance of the least sure of those whose notes are foretold, and how many these are."""
    known = [each.probability for each in good if each.probability is not None]
    if good and not known:
        yield "by litres, age and wood only"
    if not known:
        return
    some = f"{len(known)} of them by {plural('its', len(known), 'their')} notes, "
    least = in_100(min(known))
    better = "" if len(known) == 1 or least == in_100(1.0) else " or better"
    each = "with chance" if len(known) == 1 else "each"
    yield f"{some if len(known) < len(good) else ''}{each} {least}{better}"


def cut_sentence(ended: Ended) -> str:
    """Say that a search did not come to its end."""
    return f"The search was cut short: {ended.value}. So far:"


def fails_sentence(release: ReleasePlan) -> str:
    """Where a release fails."""
    if release.mixture is None:
        return f"{release.name} gets {no_cask_words(release)}."
    if release.missing > 0.0:
        return f"{release.name} lacks {100.0 * release.missing:.0f} % of its quantity."
    chance = "" if release.probability is None else f" ({in_100(release.probability)})"
    return f"{release.name} fails on {release.worst_descriptor}{chance}."


def no_cask_words(release: ReleasePlan) -> str:
    """That it gets none; and the casks it asks for, with who has them or what keeps them out."""
    gone = [had_words(each) for each in release.must_have]
    return f"no cask: it asks for {_first_few(gone)}" if gone else "no cask"


def had_words(had: HadElsewhere) -> str:
    """A cask and who has it, or what keeps it out."""
    if had.unfit is not None:
        return f"cask {had.cask}, which is {had.unfit}"
    if not had.reserved:
        return f"cask {had.cask}, which {had.release} has"
    return f"cask {had.cask}, which is reserved{f' for {had.release}' if had.release else ''}"


def together_sentence(
    releases: Sequence[str],
    house: Sequence[str],
    nearest: Mapping[str, str],
    *,
    proven: bool,
    whole: bool = False,
    spent: str | None = None,
    barred: str | None = None,
    cut: bool = False,
) -> str:
    """Which releases cannot stand together, why, and what was tried and can.

    `whole` is whether casks of any go in whole: that the others can was proven of parts alone.
    """
    if spent is not None:
        return (
            f"{listed(releases)} cannot stand together: cask {spent} must be in each, and is "
            "spent once."
        )
    held = f" with {listed(house)}" if house else ""
    if len(releases) == 1:
        said = f"{releases[0]} cannot be filled under its limits{held}."
    else:
        said = (
            f"{listed(releases)} cannot stand together{held}, whatever they smell of"
            f"{'; without any one of them the others can' if proven else ''}"
            f"{', were their casks drawn in parts' if proven and whole else ''}."
        )
    if barred is not None:
        return f"{said} {barred}"
    if not nearest and cut:  # that it was not looked for is said once of the whole plan
        return said
    if not nearest:
        return f"{said} No smaller amount that was tried can be had either."
    instead = [f"{name} {most}" for name, most in nearest.items()]
    if len(releases) == 1:
        return (
            f"{said} Tried, and can be had with no other release beside it, notes not counted: "
            f"{instead[0]}."
        )
    return (
        f"{said} Tried, and can be had, one of these once the others get all of theirs: "
        f"{', '.join(instead)}."
    )


def in_the_way_sentence(
    release: str,
    limits: Sequence[str],
    quantity: str,
    *,
    others: bool,
    house: bool,
    found: bool,
    each_alone: bool,
) -> str:
    """What keeps a release from being filled, or that nothing that was loosened fills it.

    `each_alone` is whether any one of them, let go by itself, fills it; else only all together do.
    """
    if not found:
        return (
            f"Nothing that was loosened fills {release}, nor all of it together and with no other "
            f"release beside it: the casks that may go in were not found to give {quantity}."
        )
    things = [
        *limits,
        *(["what holds for the plan as a whole"] if house else []),
        *(["what the other releases take"] if others else []),
    ]
    if not each_alone:
        return (
            f"In the way of {release} stand together {listed(things)}: to let go of one alone does "
            "not fill it."
        )
    if len(things) == 1:
        return f"In the way of {release} stands {things[0]}."
    return (
        f"In the way of {release} stand {listed(things)}: to let go of any one of them alone fills "
        "it."
    )


def filled_now_words(why: WhyFewer, bottles: int, probability: float | None = None) -> str:
    """What each of two numbers of bottles is: one that can be asked for, and one that is there.

    What is asked for is counted with a margin of each cask; what some casks fill with that of all
    together, which is smaller (`analysis.vatting.safe`).
    """
    said = {
        WhyFewer.COUNTED: "asked for, so counted cask by cask",
        WhyFewer.UNSURE: "casks chosen anew, the most tried that is sure enough",
        WhyFewer.TRIED: "casks chosen anew, the most tried",
    }[why]
    but = "but" if why is WhyFewer.UNSURE else "and"
    notes = (
        ""
        if probability is None
        else f", {but} their notes are within tolerance with chance {in_100(probability)}"
    )
    return f" ({said}; the casks it has now fill {in_digits(bottles, ',')} together{notes})"


def mend_sentence(mend: MendKind, release: str, what: str) -> str:
    """What would mend a release."""
    return {
        MendKind.FILL: f"{what} would mend {release}",
        MendKind.FEWER: f"{release} can be had with {what}",
        MendKind.MOVE: f"{release} can be had {what}",
        MendKind.DRAW: f"{release} can be had with {what} drawn a year",
        MendKind.LEAVE: f"{release} can be had with {what} left at the end",
    }[mend]


def widen_sentence(release: str, what: str, probability: float) -> str:
    """What a wider tolerance brings a release to, and the chance from which it counts as made."""
    return (
        f"{what} would bring {release} to {in_100(probability)} (plans count "
        f"{in_100(SURE_ENOUGH)} as made)"
    )


def loosened_sentence(release: str, what: str, probability: float | None) -> str:
    """How a release can be filled with one limit loosened alone, and how sure it then is."""
    if probability is None:
        return f"{release} can be filled {what}"
    if probability >= SURE_ENOUGH:
        return f"{release} can be filled {what} ({in_100(probability)})"
    return (
        f"{release} would have its quantity {what}, and still fail by its notes "
        f"({in_100(probability)}; plans count {in_100(SURE_ENOUGH)} as made)"
    )


class Beside(StrEnum):
    """How release after release lies beside a plan, by points."""

    FARTHER = "farther"
    AS_NEAR = "as near"
    NEARER = "nearer"


def beside_of(saved: float) -> Beside:
    """Compare them: `saved` is what release after release has more than the plan."""
    if abs(saved) < PROVEN_GAP:
        return Beside.AS_NEAR
    return Beside.FARTHER if saved > 0.0 else Beside.NEARER


def quality_sentence(
    objective: float, bound: float, ended: Ended, *, still_open: bool = False
) -> str:
    """How good the plan is by points, and that chance is not what they count."""
    if still_open:
        return "How near a plan can come is open as well."
    gap = max(0.0, objective - bound)
    if gap > PROVEN_GAP:
        said = (
            f"A nearer plan could gain {in_digits(gap, '.2f')} points at most (bound "
            f"{in_digits(bound, '.2f')}; {ended.value})."
        )
        return f"{said} {BY_POINTS}"
    said = "No plan lies nearer, to a thousandth of a point."
    if ended in CUT_SHORT:  # what was chosen then hangs on the machine
        said = f"{said} It was not made as sure as it could be: {ended.value}."
    return f"{said} {BY_POINTS}"


def beside_sentence(
    saved: float, joint: float | None, joint_of: int, *, nothing: bool = False
) -> str:
    """What planning ahead saves, and how sure release after release is as a whole."""
    if nothing:
        return "Release after release fills nothing."
    points = f"{in_digits(abs(saved), '.2f')} points"
    said = {
        Beside.FARTHER: f"Release after release loses {points} before each grows surer",
        Beside.AS_NEAR: "Release after release lies as near",
        Beside.NEARER: f"Release after release lies {points} nearer before each grows surer",
    }[beside_of(saved)]
    if joint is None or joint_of < 2:
        return f"{said}."
    return f"{said}; {'both' if joint_of == 2 else f'all {joint_of}'} together {in_100(joint)}."


def is_surer_alone(
    saved: float, releases: Sequence[ReleasePlan], together: Chances, alone: Chances
) -> bool:
    """Whether release after release lies as near, makes every release too, and is surer.

    By more than what the draws alone may make of it.
    """
    made = not any(each.alone.fails for each in releases)
    if not made or together.joint is None or alone.joint is None:
        return False
    if len(together.each) != len(alone.each) or beside_of(saved) is not Beside.AS_NEAR:
        return False
    doubt = hypot(together.joint_se or 0.0, alone.joint_se or 0.0)
    return alone.joint - together.joint > max(_LEAST_SURER, _ERRORS * doubt)


def next_action(
    releases: Sequence[ReleasePlan],
    still_open: Sequence[str] = (),
    *,
    surer_alone: bool = False,
) -> str:
    """What to do next."""
    if still_open:
        are = plural("is", len(still_open), "are")
        return f"let it look to its end before {listed(still_open)} {are} changed"
    if surer_alone:
        return "release after release is surer: propose these one by one with `release propose`"
    failing = [each for each in releases if each.fails]
    if acts := _acts(failing)[:_NAMED]:
        return _one_at_a_time(acts)
    if failing:
        they = plural("it", len(failing), "they")
        return f"change {_first_few([each.name for each in failing])}, or what {they} may take"
    first = releases[0].name
    return f"keep the plan and propose {first} from it; plan again once it is bottled"


def _acts(failing: Sequence[ReleasePlan]) -> Sequence[str]:
    """What can be done: changes that were tried; else casks to be freed, or left out of one."""
    had = [(each.name, cask) for each in failing for cask in each.must_have]
    return (
        [mend.sentence for each in failing for mend in each.mends[:1] if mend.is_enough]
        or [_to_have(name, cask) for name, cask in had if cask.reserved or cask.unfit is not None]
        or [_without(name, cask) for name, cask in had]
    )


def _one_at_a_time(acts: Sequence[str]) -> str:
    """Each was tried with all else as it is: what one does to the others a new plan tells."""
    return acts[0] if len(acts) == 1 else f"one at a time, then plan again: {'; '.join(acts)}"


def _without(release: str, had: HadElsewhere) -> str:
    """How two releases that must have the same cask can both be planned."""
    return f"plan {release} without cask {had.cask}, or {had.release} without it"


def _to_have(release: str, had: HadElsewhere) -> str:
    """How a release comes by a cask that is reserved outside the plan, or may not go in."""
    if had.unfit is not None:
        first = _FITS.get(had.unfit)
        if first is None:
            return f"plan {release} without cask {had.cask}"
        return f"{first} cask {had.cask}, or plan {release} without it"
    of = f" of {had.release}" if had.release else ""
    return f"free cask {had.cask}{of}, or plan {release} without it"
