"""What a plan of the stock says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from ..as_json import AsJson
from ..readable import Readable
from ..vatting.eligible import Reason
from ..vatting.limits import LimitKey, LimitKind
from ..vatting.mixture import Mixture

PROVEN_GAP = 0.001
"""Points; a plan this near the bound is as good as any."""

WORTH = 0.01
"""Points below which nothing is gained worth telling."""
_WIDE = 0.05


def is_wide(objective: float, bound: float) -> bool:
    """Whether a better plan may be some way off: by more than a twentieth of the bound."""
    return objective - bound > max(WORTH, _WIDE * bound)


class Ended(StrEnum):
    """Why the search ended."""

    PROVEN = "no plan lies nearer"
    DONE = "nothing better was found"
    TIME = "the time was over"
    STOPPED = "it was stopped"


CUT_SHORT = frozenset({Ended.TIME, Ended.STOPPED})
"""What it had by then is no answer to what cannot be had."""


class MendKind(StrEnum):
    """What would mend a release that fails."""

    FILL = "fill casks"
    WIDEN = "widen a tolerance"
    FEWER = "bottle fewer"
    MOVE = "move the release"
    DRAW = "draw more in a year"
    LEAVE = "leave less at the end"
    LOOSEN = "loosen a limit"


class WhyFewer(StrEnum):
    """Why the bottles that can be had are others than those that its casks fill now."""

    COUNTED = "counted cask by cask"
    UNSURE = "its casks are not sure enough"
    TRIED = "the most tried"


FILLS = frozenset(set(MendKind) - {MendKind.FEWER, MendKind.WIDEN})
"""Changes with which all that is asked of a release is there."""


@dataclass(frozen=True)
class CaskPrice:
    """What a cask that a release uses costs the others.

    Attributes
    ----------
    cask
        Its number.
    points
        By how many weighted points the other releases could be nearer their targets with it, by
        the prices of the linear problem; 0 where no other wants it.
    wanted_by
        The other release that wants it most; None where none does.
    """

    cask: str
    points: float
    wanted_by: str | None


@dataclass(frozen=True)
class HadElsewhere:
    """A cask that a release cannot do without, and who has it or what keeps it out.

    `release` is a release of the plan; where the cask is `reserved` outside of it, the release that
    it is reserved for, None where the records name none. `unfit` is why it may not go in though
    nobody else has it; None where somebody has.
    """

    cask: str
    release: str | None
    reserved: bool = False
    unfit: Reason | None = None


@dataclass(frozen=True)
class Mend:
    """One change with which a release that fails would not.

    Attributes
    ----------
    kind
        What is to be changed.
    sentence
        The same in words.
    casks, like, by
        FILL: how many casks, of which wood and make, filled by when at the latest.
    descriptor, points
        WIDEN: which line, and the tolerance that is needed.
    probability
        WIDEN, LOOSEN: the chance that the release then has; None without notes.
    bottles
        FEWER: how many could be had.
    why
        FEWER: why these are not those that its casks fill now; None where they are.
    on
        MOVE: the day it could be made on.
    litres
        DRAW: most litres a year with which it could be made, and every other release that lacks
        casks for the same limit; LEAVE: litres that would be left.
    limit
        LOOSEN: the one limit with which, loosened, casks fill the release; how sure it then is,
        its chance tells.
    """

    kind: MendKind
    sentence: str
    casks: int | None = None
    like: Mapping[str, str] = field(default_factory=dict)
    by: date | None = None
    descriptor: str | None = None
    points: float | None = None
    probability: float | None = None
    bottles: int | None = None
    on: date | None = None
    litres: int | None = None
    limit: LimitKind | None = None
    why: WhyFewer | None = None

    @property
    def is_enough(self) -> bool:
        """Whether the release counts as made with it: by its notes too, where they are foretold."""
        return self.probability is None or self.probability >= SURE_ENOUGH


@dataclass(frozen=True)
class InTheWay(AsJson):
    """What keeps a release that lacks casks from being filled, where no change was told that does.

    Attributes
    ----------
    keys
        Its own limits: the kind of each, and which of several shares or casks.
    words
        The same limits as a blender would name them, in the same order.
    others, house
        Whether what the other releases take is among it, and what holds for the plan as a whole.
        Where neither is and no limit either, nothing that was loosened fills it.
    each_alone
        Whether casks fill it once any one of them, whichever, is let go by itself. Else none does
        so, and casks fill it once all are let go.
    sentence
        The same in words.
    """

    keys: tuple[LimitKey, ...]
    words: tuple[str, ...]
    others: bool
    house: bool
    each_alone: bool
    sentence: str

    json_keys = ("limits", "words", "others", "house", "each_alone", "sentence")

    @property
    def limits(self) -> tuple[LimitKind, ...]:
        """The kinds of its own limits, in the order of `words`."""
        return tuple(key.kind for key in self.keys)


@dataclass(frozen=True)
class ReleasePlan(AsJson):
    """What one release gets, and how sure it is.

    Attributes
    ----------
    name, on
        Which, and the day its casks are moved to.
    litres_only
        Why it is planned by litres, age and wood only; None where its notes are foretold.
    mixture
        Casks, litres, bottles low to high, expected notes and chance; None where it gets no cask.
        Of a release planned by litres only, its chance and notes mean nothing.
    deviation
        Points outside the tolerances by the estimates, weighed by the lines' weights.
    missing
        Share of the quantity that is not there, 0 to 1.
    prices
        What its casks cost the others, the dearest first; only those that cost something.
    worst_descriptor
        The line it is least sure of; None without notes.
    fails
        Whether quantity is missing or the chance is below :data:`SURE_ENOUGH`.
    alone
        What it would get release after release, each taking its own best.
    mends
        What would mend it; empty where it does not fail or nothing was found, and where more
        releases before it fail than it is looked for.
    must_have
        Where it gets no cask: those that must be in it and that others have, or may not go in.
    kept_bottles
        Those that are retained or the house's own: bottles low and high are less them.
    in_the_way
        What keeps casks from filling it. None where it lacks none; where a change was found that
        fills it and is enough; where `must_have` is not empty; and where it was not looked for,
        because the search was cut short or stopped or the time for it was over (`mends_open`).
    """

    name: str
    on: date
    litres_only: str | None
    mixture: Mixture | None
    deviation: float
    missing: float
    prices: tuple[CaskPrice, ...]
    worst_descriptor: str | None
    fails: bool
    alone: ReleaseAlone
    mends: tuple[Mend, ...] = ()
    must_have: tuple[HadElsewhere, ...] = ()
    kept_bottles: int = 0
    in_the_way: InTheWay | None = None

    json_keys = (
        *("name", "on", "litres_only", "probability", "bottles_low", "bottles_high", "deviation"),
        *("missing", "worst_descriptor", "fails", "n_casks", "mixture", "prices", "alone", "mends"),
        *("must_have", "in_the_way"),
    )

    @property
    def probability(self) -> float | None:
        """Chance that every line is within tolerance; None where no notes are foretold."""
        if self.mixture is None or self.litres_only is not None:
            return None
        return self.mixture.probability

    @property
    def bottles_low(self) -> int:
        """Bottles that it surely comes to, less those that are kept."""
        low = 0 if self.mixture is None else self.mixture.poured.bottles_low
        return max(0, low - self.kept_bottles)

    @property
    def bottles_high(self) -> int:
        """Bottles that it comes to at most, less those that are kept."""
        high = 0 if self.mixture is None else self.mixture.poured.bottles_high
        return max(0, high - self.kept_bottles)

    @property
    def n_casks(self) -> int:
        """How many casks it draws on."""
        return 0 if self.mixture is None else len(self.mixture.parts)

    @property
    def casks(self) -> tuple[str, ...]:
        """The casks it draws on, largest share first."""
        return () if self.mixture is None else self.mixture.casks


@dataclass(frozen=True)
class ReleaseAlone(AsJson):
    """What a release gets where each takes its own best, one after another: the surest it finds.

    Attributes
    ----------
    deviation, missing
        As of :class:`ReleasePlan`.
    probability
        Its chance; None where no notes are foretold or it gets no cask.
    n_casks
        How many casks it would draw on.
    """

    deviation: float
    missing: float
    probability: float | None
    n_casks: int

    @property
    def fails(self) -> bool:
        """Whether it fails there, as of :class:`ReleasePlan`."""
        unsure = self.probability is not None and self.probability < SURE_ENOUGH
        return unsure or self.missing > 0.0 or self.n_casks == 0


@dataclass(frozen=True)
class DrawnInYear:
    """Bulk litres drawn in a calendar year, and how many may be; None where any may.

    `already` are those of releases that take their own casks by now: within what may be drawn,
    and not within `litres`.
    """

    year: int
    litres: float
    most: float | None
    already: float = 0.0


@dataclass(frozen=True)
class StaysThere:
    """What must stay, and what does, litres on the last day."""

    what: str
    least: float
    litres: float


@dataclass(frozen=True)
class TogetherNot(AsJson):
    """Releases that no stock here can meet, each or together.

    Attributes
    ----------
    releases
        All that cannot be filled by themselves; where each can, the smallest set found, which
        surely cannot stand together.
    each_alone
        Whether each of them cannot be filled by itself.
    proven
        Whether leaving out any one was tried, so that without it the others can, with casks drawn
        in parts; in whole casks they may not.
    house
        Limits of the house that take part, in words.
    nearest
        By release, bottles (or, of releases in litres, litres) that were tried and can be had when
        the others of the set get theirs.
    sentence
        The same in words.
    """

    releases: tuple[str, ...]
    each_alone: bool
    proven: bool
    house: tuple[str, ...]
    nearest: Mapping[str, int]
    sentence: str


@dataclass(frozen=True, eq=False)
class Prices:
    """Prices of the linear problem: what a later plan of nearly the same question begins from.

    Attributes
    ----------
    rows
        By release, the price of each row of its problem, by the row's name.
    house
        By row of the house.
    given, alone
        By release and cask, the fraction it gives: in the plan, and release after release.
    """

    rows: Mapping[str, Mapping[str, float]]
    house: Mapping[str, float]
    given: Mapping[str, Mapping[str, float]]
    alone: Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, repr=False)
class StockPlan(AsJson, Readable):
    """Casks by release over the years, each spent once; how sure that is, and how good.

    Attributes
    ----------
    as_of
        The day it was made for.
    sentence, next_action, quality_sentence, cautions
        In words.
    beside_sentence
        The same of release after release beside it.
    releases
        In the order of their days.
    joint
        Chance that all releases whose notes are foretold are within tolerance together, shared
        errors drawn once for all years; None where there is none. `joint_of` is how many they are,
        `joint_se` its standard error by simulation alone; `alone_joint` the same chance of release
        after release. `surer_alone` is whether that lies as near, makes all of them and is surer.
    joint_made, joint_made_of, alone_joint_made
        The same of those alone that do not fail, as the sentences tell it.
    deviation, alone_deviation
        Weighted points outside all tolerances, of the plan and release after release.
    objective, bound, gap
        Weighted points outside the bands the plan was made for, quantity that is missing and small
        preferences; no plan has less than `bound`; their difference. `alone_objective` is that of
        release after release, each taking what lies nearest; `alone_deviation` is of the surest
        that each then finds, as its row has it. Of the plans in which no release has more points
        the surest is told: it may give up some of the preferences, a thousandth of a point a
        release at most, and the objective is that of the plan it was made from.
    ended, seconds
        Why the search ended, and how long it took.
    drawn, stays
        What the house's limits came to.
    together_not
        Releases that cannot be filled, or a smallest set that cannot stand together; None where all
        can.
    still_open
        Releases that fail in a search that was cut short: whether there are casks for them is not
        known, and nothing is told that would mend them.
    mends_open, together_open
        Releases of which what would mend them, or is in their way, was not looked for to its end
        once the casks were chosen, because the time for that was over; and whether so of
        `together_not` or the amounts in it. What is told of them by then holds.
    prices
        What the next plan begins from; not told.
    """

    as_of: date
    sentence: str
    next_action: str
    quality_sentence: str
    beside_sentence: str
    cautions: tuple[str, ...]
    releases: tuple[ReleasePlan, ...]
    joint: float | None
    joint_se: float | None
    joint_of: int
    alone_joint: float | None
    deviation: float
    alone_deviation: float
    objective: float
    alone_objective: float
    bound: float
    ended: Ended
    seconds: float
    drawn: tuple[DrawnInYear, ...]
    stays: tuple[StaysThere, ...]
    together_not: TogetherNot | None
    prices: Prices
    still_open: tuple[str, ...] = ()
    surer_alone: bool = False
    joint_made: float | None = None
    joint_made_of: int = 0
    alone_joint_made: float | None = None
    mends_open: tuple[str, ...] = ()
    together_open: bool = False

    json_keys = (
        *("as_of", "sentence", "next_action", "quality_sentence", "beside_sentence"),
        *("cautions", "proven", "gap"),
        *("objective", "bound", "ended", "seconds", "deviation", "alone_deviation"),
        *(
            "alone_objective",
            "joint",
            "joint_se",
            "joint_of",
            "alone_joint",
            "joint_made",
            "joint_made_of",
            "alone_joint_made",
            "surer_alone",
            "releases",
            "drawn",
            "stays",
        ),
        *("together_not", "still_open", "mends_open", "together_open"),
    )

    @property
    def gap(self) -> float:
        """Points that a better plan could gain at most."""
        return max(0.0, self.objective - self.bound)

    @property
    def proven(self) -> bool:
        """Whether no better plan exists, to a thousandth of a point."""
        return self.gap <= PROVEN_GAP

    @property
    def wide(self) -> bool:
        """Whether a better plan may be some way off."""
        return is_wide(self.objective, self.bound)

    @property
    def cut_short(self) -> bool:
        """Whether the time was over or somebody stopped it."""
        return self.ended in CUT_SHORT

    @property
    def unfinished(self) -> bool:
        """Whether the search was cut so short that it is no measure for another."""
        return self.cut_short and (bool(self.still_open) or self.wide)

    def release(self, name: str) -> ReleasePlan:
        """The plan of one release, by its name."""
        return next(each for each in self.releases if each.name == name)

    def said(self) -> Iterator[str]:
        """Give what the plan comes to, what to do, and how good it is."""
        yield self.sentence
        yield f"Next: {self.next_action}."
        yield self.quality_sentence
        yield self.beside_sentence
        yield from self.cautions

    def rows(self) -> Iterable[object]:
        """Give the releases, a row each."""
        return [
            {
                "release": each.name,
                "on": each.on,
                "chance": each.probability,
                "bottles_low": each.bottles_low,
                "bottles_high": each.bottles_high,
                "casks": each.n_casks,
                "points_outside": each.deviation,
                "missing": each.missing,
                "worst_note": each.worst_descriptor,
                "release_after_release": each.alone.deviation,
            }
            for each in self.releases
        ]


SURE_ENOUGH = 0.5
"""A release less sure than this fails."""
