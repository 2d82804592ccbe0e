"""The chart of a target's batches over the years."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.batches import BatchRow, batches_over_years

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.release.batches import BatchesFound


def over_the_years(found: BatchesFound) -> tuple[Picture, ...]:
    """Return the pictures of all batches; none where there are none."""
    rows = [
        BatchRow(
            f"{batch.on.year} {batch.lot}",
            f"{batch.bottles:,} bottles" if batch.bottles else batch.status,
            batch.nosed,
            batch.notes,
        )
        for batch in found.batches
    ]
    said = (
        f"{found.sentence} Points are our panel's mean or reckoned from casks; they say nothing of "
        "what a guest can tell apart."
    )
    return batches_over_years(found.target, rows, found.bands, said)
