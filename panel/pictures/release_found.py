"""Pictures of a release: what the panel found in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures import Facet, Legend, Mark, Picture, Row, Shape, Sign
from panel.pictures.profiles import TWICE

if TYPE_CHECKING:
    from panel.release.sheet import ReleaseSheet


def what_was_found_in_it(sheet: ReleaseSheet) -> Picture | None:
    """Return the notes of a release's blend, strongest first; None where none may be told."""
    claims = sorted(sheet.claims, key=lambda claim: (-claim.points, claim.note))
    if not claims:
        return None
    marks: list[Mark] = []
    for at, claim in enumerate(claims):
        reach = TWICE * (claim.se or 0.0)
        if reach:
            low, high = claim.points - reach, claim.points + reach
            marks.append(Mark(Shape.SPAN, at, max(low, 0.0), min(high, 100.0)))
        marks.append(Mark(Shape.POINT, at, claim.points, sign=Sign.DIAMOND))
    return Picture(
        title=f"What did the panel find in {sheet.release}?",
        says=f"Found blind in session {', '.join(sheet.sessions)}.",
        rows=tuple(Row(claim.note, f"{claim.words}, {claim.points:.0f}") for claim in claims),
        facets=(Facet(0.0, 100.0, unit="points, mean of the panel"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.POINT, "the release, as a bench blend", Sign.DIAMOND),
            Legend(Shape.SPAN, "19 times in 20"),
        ),
    )
