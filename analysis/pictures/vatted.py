"""What the vatting does: the parts as letters, what comes of them, and the litres."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..chance_words import in_percent
from ..digits import in_digits
from ..vatting import Mixture, PlanPart, Stock
from .found import sign_at
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

TWICE = 1.96


def what_it_does(
    mixture: Mixture,
    stock: Stock,
    *,
    target: str,
    said: str,
    benched: Mapping[str, tuple[float, float]] | None = None,
) -> tuple[Picture, Picture]:
    """Return the notes of a vatting between those of its parts, and the litres of each part.

    Parameters
    ----------
    benched
        What the panel found in the bench blend: value and standard error by note.
    """
    signs = {part.filling: sign_at(at) for at, part in enumerate(mixture.parts)}
    notes = notes_of(mixture, stock, target=target, said=said, benched=benched)
    return notes, litres_of(mixture.parts, signs)


def notes_of(
    mixture: Mixture,
    stock: Stock | None = None,
    *,
    target: str,
    said: str,
    benched: Mapping[str, tuple[float, float]] | None = None,
) -> Picture:
    """Return the notes of a vatting on their lines; those of its parts where the stock is known."""
    signs = {part.filling: sign_at(at) for at, part in enumerate(mixture.parts)}
    signs = {} if stock is None else signs
    row_of = {} if stock is None else _rows(stock)
    marks: list[Mark] = []
    for at, line in enumerate(mixture.prediction):
        marks.append(Mark(Shape.BAND, at, line.aim - line.tolerance, line.aim + line.tolerance))
        if stock is not None:
            values = stock.estimate[:, stock.descriptors.index(line.descriptor)]
            marks += [
                Mark(Shape.LETTERS, at, float(values[row_of[name]]), text=sign)
                for name, sign in signs.items()
                if name in row_of
            ]
        half = TWICE * line.sd
        marks.append(Mark(Shape.SPAN, at, line.estimate - half, line.estimate + half))
        marks.append(Mark(Shape.POINT, at, line.estimate, sign=Sign.DIAMOND))
        if benched and line.descriptor in benched:
            marks.append(Mark(Shape.POINT, at, benched[line.descriptor][0], sign=Sign.CROSS))
    legend = [
        Legend(Shape.BAND, "what the target asks"),
        Legend(Shape.POINT, "the vatting, with its interval", Sign.DIAMOND),
    ]
    legend += [Legend(Shape.POINT, "as the bench blend was nosed", Sign.CROSS)] if benched else []
    legend += [
        Legend(Shape.LETTERS, part.cask, text=signs[part.filling])
        for part in mixture.parts
        if part.filling in signs
    ]
    return Picture(
        title=f"What does the vatting do for {target}?",
        says=said,
        rows=tuple(
            Row(line.descriptor, f"{in_percent(line.probability)} within")
            for line in mixture.prediction
        ),
        facets=(Facet(0.0, 100.0, unit="points"),),
        marks=tuple(marks),
        legend=tuple(legend),
    )


def _rows(stock: Stock) -> dict[str, int]:
    return {str(filling): at for at, filling in enumerate(stock.casks["filling"])}


def litres_of(parts: Sequence[PlanPart], signs: Mapping[str, str]) -> Picture:
    """Return the litres of each part as bars, and what stays in the cask."""
    most = max(part.litres for part in parts)
    step = 10.0 if most < 100 else 100.0
    total = sum(part.litres for part in parts)
    return Picture(
        title="How many litres of each cask?",
        says=f"{total:.0f} L of {len(parts)} cask{'' if len(parts) == 1 else 's'}, at 20 °C.",
        rows=tuple(
            Row(
                f"{signs[part.filling]}  {part.cask}",
                f"{part.litres:.0f} L at {in_digits(part.abv_percent, '.1f')} %, "
                f"{part.litres_left:.0f} L stay",
            )
            for part in parts
        ),
        facets=(Facet(0.0, step * -(-most // step), unit="litres taken"),),
        marks=tuple(Mark(Shape.BAR, at, 0.0, part.litres) for at, part in enumerate(parts)),
    )
