"""`oakpanel cask`: the list of casks, or one cask's life."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from analysis.cell_text import folded
from panel.cli.answers import emit_json, table, tell
from panel.cli.completing import a_cask
from panel.cli.documents import CaskGlasses, Casks, CasksFolded, CaskShown, CaskTold
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.stock_part import part_options, stock_part
from panel.figures import tenths
from panel.questions.filling_told import filling_told
from panel.questions.stock_part import FOLDS, lines_folded, lines_of
from panel.words.cask_words import (
    FOLD_HEADINGS,
    age_figure,
    figure_words,
    fold_cells,
    make_word,
    today_words,
    use_words,
)

if TYPE_CHECKING:
    from panel.questions.cask_entries import LifeEntry
    from panel.questions.cask_life import CaskLife, CaskLine
    from panel.store.engine import Session
    from panel.store.glass_notes import GlassNote


@click.command("cask")
@click.argument("number", required=False, shell_complete=a_cask)
@click.option("--scores", is_flag=True, help="Every glass of it as it was scored, over the years.")
@click.option(
    "--take-back",
    is_flag=True,
    help="Take back the event or hold that you wrote of it last, within ten minutes; a gauge or a "
    "draw is put right by loading it again.",
)
@part_options
@click.option("--by", "fold", type=click.Choice(FOLDS), help="Fold the list: so many of each.")
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    /,
    number: str | None,
    scores: bool,
    take_back: bool,
    fold: str | None,
    as_of: date | None,
    as_json: bool,
    **part: Any,
) -> None:
    """Show one cask's life, or the list of all casks, narrowed or folded."""
    from panel.questions.cask_life import cask_life, cask_lines
    from panel.store.glass_notes import cask_notes

    if take_back:
        _take_back(inv, number, as_json)
        return
    wanted = stock_part(**part)
    if number is not None and (fold or not wanted.is_all):
        raise click.UsageError("One cask, or a list that is narrowed or folded: not both.")
    with inv.reading() as db:
        day = as_of or inv.today(db)
        if scores:
            _show_scores(db, number, day, as_json)
        elif number is None:
            lines = lines_of(cask_lines(db, day), wanted)
            show_folded(lines, fold, day, as_json) if fold else show_list(lines, day, as_json)
        else:
            show_life(cask_life(db, number, day), cask_notes(db, number, day), as_json)


def _take_back(inv: Invocation, number: str | None, as_json: bool) -> None:
    from panel.records.taking_back import take_back_last

    if number is None:
        raise click.UsageError("Of which cask? --take-back is about one.")
    with inv.writing() as db:
        done = take_back_last(db, number, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(done)
    else:
        click.echo(done.sentence())


def _show_scores(db: Session, number: str | None, day: date, as_json: bool) -> None:
    from panel.questions.glasses import cask_glasses
    from panel.words.glass_words import cask_glass_lines

    if number is None:
        raise click.UsageError("Of which cask? --scores is about one.")
    glasses = cask_glasses(db, number, as_of=day)
    if as_json:
        emit_json(CaskGlasses(number, day, glasses))
    else:
        tell("\n".join(cask_glass_lines(number, glasses)))


def show_list(lines: list[CaskLine], day: date, as_json: bool) -> None:
    """Print the list of casks."""
    if as_json:
        emit_json(Casks(day, tuple(_told(line) for line in lines)))
        return
    headings = ["cask", "wood", "make", "fill", "age", "litres", "% vol", "place", "state"]
    if any(line.state is not None and line.state.parcel for line in lines):
        headings.append("parcel")
    click.echo(table(headings, [_row(line)[: len(headings)] for line in lines]))


def show_folded(lines: list[CaskLine], by: str, day: date, as_json: bool) -> None:
    """Print how many casks there are of each site, warehouse, owner or parcel."""
    found = lines_folded(lines, by)
    if as_json:
        emit_json(CasksFolded(day, by, tuple(found)))
        return
    click.echo(table([by, *FOLD_HEADINGS], [fold_cells(each, by) for each in found]))


def _row(line: CaskLine) -> tuple[object, ...]:
    state = line.state
    if state is None:
        return (line.number, line.wood, "", "", "", "", "", "", "empty", "")
    return (
        *(line.number, line.wood, make_word(state), state.fill_number),
        *(age_figure(state.age_years), f"{state.bulk_l:.0f}", tenths(state.abv)),
        *(state.place.words(), line.status, state.parcel or ""),
    )


def _told(line: CaskLine) -> CaskTold:
    contents = None if line.today is None else filling_told(line.today)
    return CaskTold(line.number, line.wood, line.size_l, contents)


def show_life(life: CaskLife, notes: Sequence[GlassNote], as_json: bool) -> None:
    """Print one cask's life, and what assessors wrote about its glasses."""
    if as_json:
        emit_json(_shown(life, notes))
        return
    click.echo(f"Cask {life.number}: {life.wood}, {life.size_l:g} L")
    click.echo("\n".join(folded(today_words(life.today), 80)) if life.today else "Empty.")
    if life.today is not None:
        click.echo("\n".join(folded(use_words(life.today), 80)))
    if life.figures is not None:
        click.echo("\n".join(folded(figure_words(life.figures), 80)))
    for flag in life.flags:
        click.echo("\n".join(folded(f"! {flag}", 80, subsequent_indent="  ")))
    click.echo("")
    several = len(life.fillings) > 1
    for entry in life.entries:
        click.echo("\n".join(entry_lines(entry, with_filling=several)))
    for note in notes:
        said = f"{note.held_on or note.session}  note        {note.line()}"
        click.echo("\n".join(folded(said, 80, subsequent_indent=" " * 24, break_on_hyphens=False)))


def entry_lines(entry: LifeEntry, *, with_filling: bool, width: int = 80) -> list[str]:
    """Return one thing that happened, folded so that it fits a narrow terminal."""
    label = f"{entry.filling}: " if with_filling else ""
    heading = f"{entry.happened_on}  {entry.kind:<10}  "
    return folded(
        label + entry.words,
        width,
        initial_indent=heading,
        subsequent_indent=" " * len(heading),
        break_on_hyphens=False,
    ) or [heading.rstrip()]


def _shown(life: CaskLife, notes: Sequence[GlassNote]) -> CaskShown:
    return CaskShown(
        cask=life.number,
        wood=life.wood,
        size_l=life.size_l,
        as_of=life.as_of,
        fillings=tuple(map(filling_told, life.fillings)),
        entries=life.entries,
        flags=life.flags,
        figures=life.figures,
        notes=tuple(notes),
    )
