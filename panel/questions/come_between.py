"""What has come between a release that is proposed and the casks it has reserved."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.bar_words import sentence
from panel.frames.bars import bars_by_filling
from panel.kinds import ReleaseStatus
from panel.questions.agreed import agreed_then, not_agreed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.bars import Bar
    from panel.store.releases import Release


@dataclass(frozen=True)
class CameBetween:
    """One cask of a proposed release, and what is held against it by now.

    Attributes
    ----------
    bar
        None where nothing is left in it.
    """

    cask: str
    bar: Bar | None
    sentence: str


def come_between(db: Session, release: Release, as_of: date) -> Iterator[CameBetween]:
    """Give what bars casks that a release has reserved, until they are drawn.

    What was agreed to by name when the release was proposed is not among it; what came later is,
    for nobody agreed to that.
    """
    if release.status is not ReleaseStatus.PROPOSED or release.disgorged_on is not None:
        return
    agreed = agreed_then(json.loads(release.predicted_json or "{}"))
    casks = [part.filling.cask.number for part in release.parts]
    known = bars_by_filling(db, as_of, only_casks=casks, besides_release=release.name)
    lying = {state.cask: bars for state, bars in known.values()}
    for cask in casks:
        if cask not in lying:
            yield CameBetween(cask, None, f"Cask {cask} holds nothing.")
            continue
        for barred in not_agreed(cask, lying[cask], agreed):
            yield CameBetween(cask, barred.bar, sentence(cask, barred))
