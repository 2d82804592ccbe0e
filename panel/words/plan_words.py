"""A plan of the stock as lines of text: what can be made, each release, then the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.chance_words import chance, in_100, reads_the_same
from panel.figures import in_digits
from panel.words.answers import INDENT, paragraph
from panel.words.columns import columns
from panel.words.vat_words import notes_of_casks

if TYPE_CHECKING:
    from analysis.stock_plan import ReleasePlan, StockPlan
    from panel.questions.plan_changes import ReleaseMoved
    from panel.questions.plan_records import PlanLine, PlanRecord
    from panel.questions.plan_since import CaskSince
    from panel.questions.stock_plans import PlanFound
    from panel.release.propose import ChanceSince

CASKS_SHOWN = 6
COSTS_SHOWN = 3
NOT_COMPARED = "What that moves is not known: a search was cut short, with the change or without."
BESIDE = (
    "Beside it, release after release: each takes what lies nearest of what is left, then grows as "
    "sure as it can:"
)
OFF = "off: weighted points outside the tolerances, by the estimates."
NEARER_ANEW = "Planned from the last plan; planned anew (`--anew`) it may lie nearer."


def plan_lines(
    found: PlanFound,
    since: Sequence[CaskSince] = (),
    width: int = 80,
    otherwise: Sequence[str] = (),
) -> list[str]:
    """Return the answer for a plan of the stock; *otherwise* are releases kept with other casks."""
    plan = found.found
    return [
        *_changed(found, width),
        *paragraph(plan.sentence, width),
        *paragraph(f"Next: {plan.next_action}.", width),
        *_settled(found, width),
        *_together_not(plan, width),
        "",
        *release_columns(plan.releases),
        *_less_kept(found, width),
        *_beside(found, width),
        *_details(plan, width),
        *_house(found, width),
        *since_lines(since, width),
        *(paragraph(kept_words(otherwise), width) if otherwise else ()),
        "",
        *_said((plan.quality_sentence, *found.checks, *plan.cautions), width),
    ]


def chance_since_words(since: ChanceSince) -> str:
    """Return what a release's chance was when the plan was kept, and what it is now."""
    return (
        f"When plan {since.plan} was kept on {since.kept_on}, its chance was {in_100(since.then)}; "
        f"with the same casks it is {in_100(since.now)} now."
    )


def kept_words(otherwise: Sequence[str]) -> str:
    """Say that what is kept, and so what would be proposed, is not what stands above."""
    return (
        f"For {', '.join(otherwise)} other casks are kept than those shown: `release propose "
        "--from-plan` takes the kept ones. Kept anew, the plan has these in their place."
    )


def _changed(found: PlanFound, width: int) -> Iterator[str]:
    if not found.changed:
        return
    yield from paragraph(f"With {', '.join(found.changed)}:", width)
    if not found.moves_known:
        yield from paragraph(NOT_COMPARED, width, INDENT)
    elif not found.moves and not found.unused:
        yield from paragraph("Nothing else moves.", width, INDENT)
    if found.unused:
        yield from paragraph(f"The plan does not use {_named(found.unused)}.", width, INDENT)
    for each in found.moves:
        yield from paragraph(moved_words(each), width, INDENT)
    if found.nearer_anew:
        yield from paragraph(NEARER_ANEW, width)
    yield ""


def moved_words(each: ReleaseMoved) -> str:
    """Return what a change does to a release."""
    said = f"{each.release}: "
    if each.before is not None and each.after is not None:
        said += f"chance {_becomes(each.before, each.after)}"
    elif each.missing_before > 0.0 or each.missing_after > 0.0:
        said += f"lacks {100 * each.missing_before:.0f} %, then {100 * each.missing_after:.0f} %"
    else:
        said += "lacks nothing, as before"
    if each.by_new_search:
        said += " (this search found it, and the one before had not; the change need not be why)"
    if each.gone:
        said += f"; {_named(each.gone)} out"
    if each.come:
        said += f"; {_named(each.come)} in"
    return f"{said}."


def _becomes(before: float, after: float) -> str:
    if reads_the_same(before, after):
        return f"{chance(after)} as before"
    return f"{chance(before)} becomes {chance(after)}"


def _named(casks: Sequence[str]) -> str:
    more = len(casks) - CASKS_SHOWN
    return ", ".join(casks[:CASKS_SHOWN]) + (f" and {more} more" if more > 0 else "")


def _settled(found: PlanFound, width: int) -> Iterator[str]:
    if found.settled:
        told = ", ".join(f"{name} ({stands})" for name, stands in found.settled.items())
        yield from paragraph(f"Not planned any more, as their casks are theirs: {told}.", width)


def _together_not(plan: StockPlan, width: int) -> Iterator[str]:
    if plan.together_not is not None:
        yield from paragraph(plan.together_not.sentence, width)


@dataclass(frozen=True)
class PlanRow:
    """A release of a plan as a table shows it; figures are empty before casks are found."""

    release: str
    year: int
    target: str
    chance: str = ""
    bottles: str = ""
    casks: str = ""
    off: str = ""
    lacks: str = ""
    worst: str = ""


def plan_rows(record: PlanRecord, found: PlanFound | None) -> list[PlanRow]:
    """Return a row a release: as it is recorded, with what was found for it."""
    if found is None:
        return [PlanRow(line.release, line.year, line.target) for line in record.lines]
    there = {each.name: each for each in found.found.releases}
    rows = [
        PlanRow(line.release, line.year, line.target, worst=found.settled[line.release])
        for line in record.lines
        if line.release in found.settled
    ]
    others = [line for line in record.lines if line.release not in found.settled]
    others.sort(
        key=lambda line: there[line.release].on.year if line.release in there else line.year
    )
    return [*rows, *(_plan_row(line, there.get(line.release)) for line in others)]


def _plan_row(line: PlanLine, each: ReleasePlan | None) -> PlanRow:
    """A line of the plan as it is recorded, with what was found where it was looked at."""
    if each is None:
        return PlanRow(line.release, line.year, line.target)
    _, year, *cells = release_cells(each)
    return PlanRow(each.name, int(year), line.target, *cells)


def opening_words(found: PlanFound, since: Sequence[CaskSince], width: int = 76) -> list[str]:
    """Return the answer as a page opens with it."""
    left = ""
    if since:
        casks = len({each.cask for each in since})
        are = "is not as it was" if casks == 1 else "are not as they were"
        left = f"Reality left it: {casks} of its casks {are}; v tells which."
    said = [*_changed(found, width), *paragraph(found.found.sentence, width)]
    return [line for line in [*said, *paragraph(left, width)] if line]


NOTHING = frozenset({"-", "0.0"})
"""A column of these alone tells nothing."""
HEADINGS = ("release", "year", "chance", "bottles", "casks", "off", "lacks", "least sure")


def release_columns(releases: Sequence[ReleasePlan]) -> list[str]:
    """Return one line a release, its bottles less those that are kept."""
    rows = [release_cells(each) for each in releases]
    told = [at for at in range(len(HEADINGS)) if any(row[at] not in NOTHING for row in rows)]
    cells = [tuple(row[at] for at in told) for row in rows]
    lines = columns(tuple(HEADINGS[at] for at in told), cells)
    return [*lines, OFF] if HEADINGS.index("off") in told else lines


def _less_kept(found: PlanFound, width: int) -> Iterator[str]:
    if found.kept_bottles:
        told = ", ".join(f"{number} of {name}" for name, number in found.kept_bottles.items())
        yield from paragraph(f"Bottles less those retained or of the house: {told}.", width)


def release_cells(each: ReleasePlan) -> tuple[str, ...]:
    """Return what one release gets, its bottles less those that are kept."""
    low, high = each.bottles_low, each.bottles_high
    return (
        *(each.name, str(each.on.year)),
        "-" if each.probability is None else chance(each.probability),
        in_digits(low, ",") if low == high else f"{in_digits(low, ',')}-{in_digits(high, ',')}",
        str(each.n_casks),
        "-" if each.litres_only is not None or not each.n_casks else _off(each.deviation),
        f"{100 * each.missing:.0f} %" if each.missing > 0.0 else "-",
        each.worst_descriptor or ("litres only" if each.litres_only else "-"),
    )


def _off(points: float) -> str:
    return in_digits(points, ".1f")


def _beside(found: PlanFound, width: int) -> Iterator[str]:
    """Give what release after release would come to, once it was looked for to the end.

    Of a change it would hang on whether the last plan was begun from: it stands beside the plan as
    it is recorded.
    """
    plan = found.found
    if plan.still_open or found.changed:
        return
    if not any(each.n_casks or each.alone.n_casks for each in plan.releases):
        return  # two empty tables tell nothing
    rows = [
        (
            each.name,
            "-" if each.alone.probability is None else chance(each.alone.probability),
            str(each.alone.n_casks),
            _off(each.alone.deviation) if each.alone.n_casks else "-",
            f"{100 * each.alone.missing:.0f} %" if each.alone.missing > 0.0 else "-",
        )
        for each in plan.releases
    ]
    yield ""
    yield from paragraph(BESIDE, width)
    yield from columns(("release", "chance", "casks", "off", "lacks"), rows)
    yield from paragraph(plan.beside_sentence, width)


def _details(plan: StockPlan, width: int) -> Iterator[str]:
    for each in plan.releases:
        yield ""
        yield from paragraph(f"{each.name}, {each.on}: {casks_words(each)}", width)
        if each.mixture is not None:
            yield from notes_of_casks(each.mixture.parts, width)
        for price in each.prices[:COSTS_SHOWN]:
            if price.wanted_by is not None:
                yield from paragraph(
                    f"Cask {price.cask} costs the others {in_digits(price.points, '.2f')} "
                    "points, most "
                    f"{price.wanted_by}.",
                    width,
                    INDENT,
                )
        for mend in each.mends:
            yield from paragraph(mend.sentence, width, INDENT)
        if each.in_the_way is not None:
            yield from paragraph(each.in_the_way.sentence, width, INDENT)
        if each.litres_only is not None:
            yield from paragraph(f"It is {each.litres_only}.", width, INDENT)


def casks_words(each: ReleasePlan) -> str:
    """Return the casks of a release with their litres."""
    from analysis.stock_plan.verdict import no_cask_words

    if each.mixture is None:
        return f"{no_cask_words(each)}."
    return ", ".join(f"{part.cask} {part.litres:.0f} L" for part in each.mixture.parts) + "."


def _house(found: PlanFound, width: int) -> Iterator[str]:
    plan = found.found
    if plan.drawn or plan.stays:
        yield ""
    yield from paragraph(whole_words(found.whole), width) if found.whole else ()
    for each in plan.drawn:
        most = "" if each.most is None else f" of at most {in_digits(each.most, ',.0f')}"
        already = f" and {in_digits(each.already, ',.0f')} L proposed already"
        beside = already if each.already > 0.0 else ""
        yield from paragraph(
            f"Drawn in {each.year}: {in_digits(each.litres, ',.0f')} L{beside}{most}.", width
        )
    for stay in plan.stays:
        yield from paragraph(
            f"Left at the end: {in_digits(stay.litres, ',.0f')} L where {stay.what} must stay.",
            width,
        )


def since_lines(since: Sequence[CaskSince], width: int = 80) -> Iterator[str]:
    """Give where reality left the plan that was kept."""
    if not since:
        return
    yield ""
    yield from paragraph("What became of its casks since:", width)
    for each in since:
        yield from paragraph(each.sentence, width, INDENT)


def _said(sentences: Sequence[str], width: int) -> Iterator[str]:
    for sentence in sentences:
        yield from paragraph(sentence, width)


def whole_words(limits: str | None) -> str:
    """Return what holds for a plan as a whole, as it is recorded."""
    return f"As a whole: {limits}" if limits else ""
