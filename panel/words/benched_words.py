"""What the panel found in the bench blend of a release, in words and columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from panel.figures import in_digits, tenths
from panel.release.benched import AS_MIXED, Litres
from panel.words.answers import number, paragraph
from panel.words.columns import columns

if TYPE_CHECKING:
    from panel.release.benched import BenchLine, BenchNosed

HEADINGS = ("note", "aim", "+/-", "predicted", "nosed", "se", "chance")
_MIXED_BY = {
    Litres.PLANNED: "the litres planned",
    Litres.DISGORGED: "the litres disgorged",
    Litres.OTHER: "litres that are neither those planned nor those disgorged",
}


def benched_lines(found: BenchNosed | None, width: int = 80) -> list[str]:
    """Return what was nosed beside the target and the prediction; nothing where nothing was."""
    if found is None:
        return []
    rows = [benched_cells(line) for line in found.lines]
    return [
        "",
        *paragraph(found.sentence, width),
        *columns(HEADINGS, rows),
        *paragraph(mixed_sentence(found), width),
    ]


def benched_cells(line: BenchLine) -> tuple[str, ...]:
    """Return one note of a bench blend: what was asked, foretold and nosed."""
    return (
        *(
            line.nosed.descriptor,
            in_digits(line.nosed.aim, "g"),
            in_digits(line.nosed.tolerance, "g"),
        ),
        *(number(line.predicted, 1), number(line.nosed.estimate, 1), number(line.nosed.se, 1)),
        "-" if line.nosed.probability is None else chance(line.nosed.probability),
    )


def mixed_sentence(found: BenchNosed) -> str:
    """Say of what the blend was mixed, and at which strength it was nosed."""
    when = f" on {found.drawn_on}" if found.drawn_on else ""
    volume = "" if found.volume_ml is None else f"{found.volume_ml:.0f} mL "
    strengths = " and ".join(
        dict.fromkeys(
            (f"{in_digits(evening.nosing_abv_percent, 'g')} %") for evening in found.evenings
        )
    )
    at = "" if found.abv_percent is None else f" at {tenths(found.abv_percent)} % vol"
    said = f"Mixed on the bench{when}: {volume}{at.strip()} by {_MIXED_BY[found.litres]}"
    said += f", nosed at {strengths} vol"
    if found.other_share > AS_MIXED:
        said += (
            f". In the release {in_digits(100.0 * found.other_share, '.1f')} % of the whole "
            "is otherwise: what "
            "was nosed is near it, not it"
        )
    return f"{said}."
