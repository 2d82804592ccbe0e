"""What the demo answers as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.agreement import Agreement
    from analysis.target import Match
    from panel.cli.demo import Demo, Steps
    from panel.questions.vatting import VatAnswer


@dataclass(frozen=True)
class DeskTold:
    """How the desk of the demo is opened, and by whom."""

    command: str
    code: str


@dataclass(frozen=True)
class BoothTold:
    """How a booth of the demo is opened, who signs in, and their glasses in order."""

    command: str
    code: str
    glasses: tuple[str, ...]


@dataclass(frozen=True)
class DemoTold:
    """What the demo made, and what came out of its main job."""

    folder: str
    database: str
    sizes: Mapping[str, int]
    session: str
    scores_given: int
    key_hash: str | None
    key_matches: bool | None
    agreement: Agreement
    match: Match
    vatting: VatAnswer
    pin: str
    desk: DeskTold
    booth: BoothTold
    cautions: tuple[str, ...]
    seconds: Mapping[str, float]


def document(done: Demo, steps: Steps, start: str) -> DemoTold:
    """Return everything as one document; *start* is how every command on the demo begins."""
    from panel.cli.demo_evening import EVENING, LEAD, PIN, TRY_OUT, TRY_OUT_AT
    from panel.session.dose import CAUTIONS

    return DemoTold(
        folder=str(done.folder.path),
        database=str(done.folder.database),
        sizes=done.sizes,
        session=EVENING,
        scores_given=done.held.n_scores,
        key_hash=done.held.revealed.key_hash,
        key_matches=done.held.revealed.matches,
        agreement=done.agreement,
        match=done.match,
        vatting=done.vatting,
        pin=PIN,
        desk=DeskTold(f"{start} desk", LEAD),
        booth=BoothTold(f"{start} booth {TRY_OUT}", TRY_OUT_AT, done.codes),
        cautions=CAUTIONS,
        seconds={**steps.seconds, "all": steps.total},
    )
