"""What the steps of a release answer as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned
    from panel.release.against import Against
    from panel.release.benched import BenchNosed
    from panel.release.holding import Agreed
    from panel.release.lists import ReleaseLine
    from panel.release.outcome import Outcome
    from panel.release.propose import ChanceSince
    from panel.release.record import ReleaseRecord


@dataclass(frozen=True)
class Proposed:
    """A release that was proposed, and what limits and law have to say of it.

    `since_kept` is the chance of casks of a plan, then and now, where it is another by now;
    `held_later` are the sessions dated after the day of it, which it leaves out.
    """

    record: Annotated[dict[str, Any], ReleaseRecord]
    checks: tuple[str, ...]
    since_kept: ChanceSince | None = None
    held_later: tuple[str, ...] = ()

    json_keys = (("record", "**"), "checks", "since_kept", "held_later")


@dataclass(frozen=True)
class Releases:
    """All releases, the newest first."""

    releases: tuple[ReleaseLine, ...]


@dataclass(frozen=True)
class Disgorged:
    """What the casks gave; `kept` tells whether it was written down or only tried."""

    release: str
    kept: bool
    found: Outcome
    nosed: BenchNosed | None

    json_keys = ("release", "kept", ("found", "**"), "nosed")


@dataclass(frozen=True)
class Signed:
    """A signed release: who signed, despite what, and what stood against it."""

    release: str
    lot_code: str | None
    signed_by: str | None
    signed_despite: str | None
    differences: tuple[str, ...]
    agreed: tuple[Agreed, ...]
    against: tuple[Against, ...]
    nosed: BenchNosed | None


@dataclass(frozen=True)
class Bottled:
    """A release that is frozen."""

    release: str
    lot_code: str | None
    bottles: int | None


@dataclass(frozen=True)
class Cancelled:
    """A release that was given up."""

    release: str
    status: Literal["cancelled"] = "cancelled"


@dataclass(frozen=True)
class MixingTold:
    """What nosed bench blends teach of how notes mix, and for which notes it was kept."""

    found: MixingLearned
    kept: tuple[str, ...]

    json_keys = (("found", "**"), "kept")
