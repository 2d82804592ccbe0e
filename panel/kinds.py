"""Enums that people are told of, and the plain facts of each kind of session.

Imports nothing of the house. What a room does with a kind of session stands in that room's own
registry (`kinds.py` there, `session_kinds.py` in intake): a new kind is a member and its facts
here, and one line in each.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class SessionStatus(StrEnum):
    """The stages of a session, in order."""

    DRAFT = "draft"
    SEALED = "sealed"
    OPEN = "open"
    CLOSED = "closed"
    REVEALED = "revealed"


FINISHED = (SessionStatus.CLOSED, SessionStatus.REVEALED)
"""Nobody scores any more."""
KEY_IS_SECRET = (SessionStatus.SEALED, SessionStatus.OPEN, SessionStatus.CLOSED)
"""Codes are fixed, and nobody may know what they stand for."""


class EditedList(StrEnum):
    """The lists of the house whose edits can be taken back."""

    LEXICON = "lexicon"
    TARGETS = "targets"
    RULES = "rules"
    SETTINGS = "settings"


class Manner(StrEnum):
    """Whether the glasses are nosed only or tasted as well."""

    NOSE = "nose"
    TASTE = "taste"


class ServingStatus(StrEnum):
    """What the lead made of a glass; the scores stay whatever it is."""

    KEPT = "kept"
    VOID = "void"
    RE_POURED = "re-poured"
    SWAP_SUSPECTED = "swap_suspected"


KNEW_KEY = "knew_key"
"""What stands instead of kept in frames and files for a glass of somebody who saw the key."""


IN_TRAINING = "in_training"
"""What stands instead of kept in files for a glass of somebody who was in training that day."""


class GlassState(StrEnum):
    """How far a glass is, or what the lead made of it."""

    WAITING = "waiting"
    IN_HAND = "in hand"
    DONE = "done"
    VOID = "void"
    RE_POURED = "re-poured"
    SWAP_SUSPECTED = "swap_suspected"


class SwapOutcome(StrEnum):
    """What a lead found out about glasses that seemed to have changed places."""

    STOOD = "stood"
    EXCHANGED = "exchanged"


class Fault(StrEnum):
    """Faults that are marked, never averaged."""

    SULPHUR = "sulphur"
    MOULD_OR_CORK = "mould or cork"
    RUBBER = "rubber"
    SOLVENT = "solvent"
    SOAPY = "soapy"
    OVER_WOODED = "over-wooded"
    OTHER = "other"


class CallReason(StrEnum):
    """Why an assessor calls the lead."""

    SPILLED = "spilled"
    DOUBTFUL_GLASS = "doubtful glass"
    WATER = "water"
    NOT_SAFE = "not safe"
    OTHER = "other"


STOPS = CallReason.NOT_SAFE
"""The one reason whose call about a glass stops what is in it, under all its codes."""


class Clarity(StrEnum):
    """What light shows of a draw as it is poured."""

    BRIGHT = "bright"
    HAZY = "hazy"
    CLOUDY = "cloudy"
    PARTICLES = "particles"


class GlassKind(StrEnum):
    """What a glass is there for."""

    TEST = "test"
    REFERENCE = "reference"
    WARM_UP = "warm_up"
    TRIAL = "trial"
    MARKET = "market"


class PeatOrder(StrEnum):
    """Where smoky glasses stand: last in each flight, anywhere, or in flights of their own."""

    RISING = "rising"
    BALANCED = "balanced"
    APART = "apart"


class DrawKind(StrEnum):
    """Where the liquid of a draw comes from."""

    CASK = "cask"
    REFERENCE = "reference"
    TRIAL = "trial"
    MARKET = "market"


class Role(StrEnum):
    """What a person may do; one person may have several roles."""

    LEAD = "lead"
    POURER = "pourer"
    ASSESSOR = "assessor"
    BLENDER = "blender"


class Stage(StrEnum):
    """When in a glass a descriptor is looked for."""

    NOSE = "nose"
    ARRIVAL = "arrival"
    DEVELOPMENT = "development"
    FINISH = "finish"


class EventKind(StrEnum):
    """What can happen to a filling, apart from its regauges and draws."""

    MOVED = "moved"
    LEAK_FOUND = "leak found"
    REPAIRED = "repaired"
    RE_RACKED = "re-racked"
    TOPPED = "topped"
    RESERVED = "reserved"
    FREED = "freed"
    EMPTIED = "emptied"


class GaugeMethod(StrEnum):
    """How the content of a cask was measured."""

    WEIGHED = "weighed"
    DIPPED = "dipped"


class LitresAt(StrEnum):
    """The temperature that bulk litres are written for: 20 °C, or that of the cask."""

    TWENTY = "20"
    CASK = "cask"


class ReleaseStatus(StrEnum):
    """Where a release stands; proposed and signed ones reserve their casks."""

    PROPOSED = "proposed"
    SIGNED = "signed"
    BOTTLED = "bottled"
    CANCELLED = "cancelled"


class RemarkKind(StrEnum):
    """What somebody outside says of a bottle; what may hurt people is traced, never nosed."""

    REMARK = "remark"
    TASTE = "smell or taste"
    PACKAGE = "bottle or closure"
    ILLNESS = "illness"
    FOREIGN_BODY = "foreign body"

    @property
    def concerns_safety(self) -> bool:
        """Whether whoever answers for safety has to be told."""
        return self in {RemarkKind.ILLNESS, RemarkKind.FOREIGN_BODY}


class BottleKind(StrEnum):
    """How a bottle of a lot comes to stand in the house."""

    RETAINED = "retained"
    UNOPENED = "unopened"
    OPENED = "came back opened"


class Doubt(StrEnum):
    """What is not clear of a disgorged release; a signature despite of it asks for a reason."""

    VAT_LITRES = "litres of the vat"
    VAT_STRENGTH = "strength of the vat"
    CASK_LITRES = "litres of a cask"
    REST = "rest in a cask"
    LOSS = "rest written off"
    BARRED = "barred since the proposal"


class RuleKind(StrEnum):
    """What a rule is about, with its unit."""

    MINIMUM_AGE = "minimum age"
    MINIMUM_STRENGTH = "minimum strength"
    LARGEST_CASK = "largest cask"
    AGE_STATEMENT = "age statement"


class WoodRule(StrEnum):
    """What a law asks of the wood, beside the figures that are rules with a unit."""

    OAK = "oak casks"


class LinesFrom(StrEnum):
    """Where the lines come from on which a glass is scored."""

    LEXICON = "lexicon"
    STAGES = "lexicon, some notes at each stage"
    EACH_ASSESSOR = "each assessor"
    ANSWER = "an answer a glass"


class Task(StrEnum):
    """What is done with the glasses of a set, which are nosed side by side."""

    PICK = "pick the stronger"
    SORT = "sort two and two"
    RANK = "rank"
    ODD = "pick the odd one"
    MATCH = "find the like of the first"

    @property
    def beside_first(self) -> bool:
        """Whether a glass is chosen that goes with the first, which is none of the choices."""
        return self in {Task.SORT, Task.MATCH}

    @property
    def marks_first(self) -> bool:
        """Whether the first glass of a set is openly marked as the reference."""
        return self is Task.MATCH


class SessionKind(StrEnum):
    """What is asked of the people at the glasses."""

    PROFILE = "profile"
    OWN_WORDS = "own words"
    PASSING = "passing"
    STRONGER = "stronger of two"
    TWO_AND_TWO = "two and two"
    RANKING = "ranking"
    TRACE = "trace"
    ODD_ONE_OUT = "odd one out"
    LIKE_THE_FIRST = "like the first"
    STAGES = "stages"

    @property
    def facts(self) -> KindFacts:
        """Return what holds for every session of this kind."""
        return KIND_FACTS[self]


@dataclass(frozen=True)
class Scale:
    """Both ends of a line for which no others are written down."""

    low: int = 0
    high: int = 100


USUAL_SCALE = Scale()


@dataclass(frozen=True)
class KindFacts:
    """What holds for every session of a kind, whatever room looks at it.

    `scored` and `remark` are said to people: how it was scored, and what a list notes of it.
    A kind is `pooled` where its lines are those of other sessions, so that they may be laid side by
    side. `manners` are those that a lead may choose from; `repeats` says whether a draw may be
    poured more than once. Settings of the house say how many glasses stand in a flight (None: the
    usual one by manner) and how many flights a day holds. Of a kind that `passes`, glasses are
    passed or held by marks of fault; nothing is scored. `task` is what is done with each set of
    glasses, where they stand in sets, and `of_each` how many glasses of a draw stand in one, at the
    most where a set always has `a_set` of them; a reference comes on top. Where a glass is traced,
    `prompts_s` are the seconds after the sip at which it is asked how strong one note is.
    """

    lines: LinesFrom
    scored: str
    pooled: bool
    remark: str = ""
    scale: Scale = USUAL_SCALE
    manners: frozenset[Manner] = frozenset(Manner)
    repeats: bool = True
    glasses_setting: str | None = None
    flights_setting: str = "flights_a_day"
    passes: bool = False
    task: Task | None = None
    of_each: int = 1
    a_set: int | None = None
    prompts_s: tuple[int, ...] = ()

    @property
    def in_sets(self) -> bool:
        """Whether glasses stand in sets, each answered as one."""
        return self.task is not None

    @property
    def marks_reference(self) -> bool:
        """Whether one of the draws stands first in each set, openly marked as the reference."""
        return self.task is not None and self.task.marks_first

    def glasses_a_set(self, draws: int) -> int:
        """Return how many glasses a set of so many draws has, the reference among them."""
        return draws * self.of_each if self.a_set is None else self.a_set

    @property
    def scored_on_lines(self) -> bool:
        """Whether glasses are scored on lines; else one thing is answered of each."""
        return self.lines is not LinesFrom.ANSWER

    @property
    def traced(self) -> bool:
        """Whether one note is followed over the seconds after a sip."""
        return bool(self.prompts_s)

    @property
    def staged(self) -> bool:
        """Whether some notes of the lexicon are scored at each stage, the others once."""
        return self.lines is LinesFrom.STAGES

    @property
    def own_lines(self) -> bool:
        """Whether each assessor names the lines that they score on."""
        return self.lines is LinesFrom.EACH_ASSESSOR


KIND_FACTS: dict[SessionKind, KindFacts] = {
    SessionKind.PROFILE: KindFacts(LinesFrom.LEXICON, "scored on the lexicon", pooled=True),
    SessionKind.OWN_WORDS: KindFacts(
        LinesFrom.EACH_ASSESSOR, "scored in own words", pooled=False, remark="own words"
    ),
    SessionKind.PASSING: KindFacts(
        LinesFrom.LEXICON,
        "passed or held",
        pooled=False,
        remark="passing",
        manners=frozenset({Manner.NOSE}),
        repeats=False,
        glasses_setting="passing_block_glasses",
        flights_setting="passing_blocks_a_day",
        passes=True,
    ),
    SessionKind.STRONGER: KindFacts(
        LinesFrom.ANSWER,
        "answered pair by pair",
        pooled=False,
        remark="stronger of two",
        task=Task.PICK,
    ),
    SessionKind.TWO_AND_TWO: KindFacts(
        LinesFrom.ANSWER,
        "answered two and two",
        pooled=False,
        remark="two and two",
        task=Task.SORT,
        of_each=2,
    ),
    SessionKind.RANKING: KindFacts(
        LinesFrom.ANSWER, "ranked", pooled=False, remark="ranking", task=Task.RANK
    ),
    SessionKind.TRACE: KindFacts(
        LinesFrom.ANSWER,
        "traced over a minute",
        pooled=False,
        remark="trace",
        scale=Scale(0, 9),
        manners=frozenset({Manner.TASTE}),
        repeats=False,
        glasses_setting="trace_glasses",
        prompts_s=(0, 5, 10, 20, 30, 45, 60),
    ),
    SessionKind.ODD_ONE_OUT: KindFacts(
        LinesFrom.ANSWER,
        "asked for the odd one",
        pooled=False,
        remark="odd one out",
        task=Task.ODD,
        of_each=2,
        a_set=3,
    ),
    SessionKind.LIKE_THE_FIRST: KindFacts(
        LinesFrom.ANSWER,
        "asked what is like the first",
        pooled=False,
        remark="like the first",
        task=Task.MATCH,
        a_set=3,
    ),
    SessionKind.STAGES: KindFacts(
        LinesFrom.STAGES,
        "scored on the lexicon, some notes by stages",
        pooled=True,
        remark="stages",
        manners=frozenset({Manner.TASTE}),
    ),
}
USUAL_KIND = SessionKind.PROFILE
"""What a session is where nobody says otherwise."""


def pooled_kinds() -> tuple[SessionKind, ...]:
    """Return the kinds whose sessions may be laid side by side."""
    return tuple(kind for kind, facts in KIND_FACTS.items() if facts.pooled)
