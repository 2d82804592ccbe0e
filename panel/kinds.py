"""Enums that people are told of. Imports nothing of the house."""

from __future__ import annotations

from enum import StrEnum


class SessionStatus(StrEnum):
    """The stages of a session, in order."""

    DRAFT = "draft"
    SEALED = "sealed"
    OPEN = "open"
    CLOSED = "closed"
    REVEALED = "revealed"


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
    OTHER = "other"


class GlassKind(StrEnum):
    """What a glass is there for."""

    TEST = "test"
    REFERENCE = "reference"
    WARM_UP = "warm_up"
    TRIAL = "trial"
    MARKET = "market"


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


class ReleaseStatus(StrEnum):
    """Where a release stands; proposed and signed ones reserve their casks."""

    PROPOSED = "proposed"
    SIGNED = "signed"
    BOTTLED = "bottled"
    CANCELLED = "cancelled"


class RuleKind(StrEnum):
    """What a rule is about, with its unit."""

    MINIMUM_AGE = "minimum age"
    MINIMUM_STRENGTH = "minimum strength"
    LARGEST_CASK = "largest cask"
    AGE_STATEMENT = "age statement"
