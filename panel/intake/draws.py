"""Draws: samples of casks, references, trials and bottles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, model_validator
from sqlalchemy import select
from sqlalchemy.orm import joinedload, selectinload

from panel.figures import in_digits
from panel.intake.cells import (
    MILLILITRES,
    Name,
    OneOf,
    OptionalName,
    OptionalPastDay,
    OptionalStrength,
    OptionalText,
    RowModel,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.fillings import FillingsNamed, check_stay, fetch_stock, find_filling
from panel.intake.load import Load, RowOutcome, all_names, change, fetch, refuse_twins
from panel.intake.partly import told_of, with_blanks
from panel.intake.parts import read_parts
from panel.intake.strengths import check_drawn, check_strength, check_weak
from panel.kinds import Clarity, DrawKind
from panel.store.casks import Filling
from panel.store.draws import Draw, DrawPart
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession

COLUMNS = Columns(
    required=("sample", "kind"),
    optional=(
        *("filling", "cask", "batch", "drawn_on", "abv", "volume_ml", "reduced_to"),
        *("parts", "reason", "fate", "colour", "clarity", "note"),
    ),
    numbers=frozenset({"abv", "volume_ml", "reduced_to"}),
)
FROM_A_CASK = ("filling", "cask")


class DrawRow(RowModel):
    """One sample."""

    sample: Name
    kind: Annotated[DrawKind, BeforeValidator(OneOf(DrawKind))]
    filling: OptionalName = None
    cask: OptionalName = None
    batch: OptionalText = None
    drawn_on: OptionalPastDay = None
    abv: OptionalStrength = None
    volume_ml: Annotated[float | None, BeforeValidator(MILLILITRES.read)] = None
    reduced_to: OptionalStrength = None
    parts: Annotated[dict[str, float] | None, BeforeValidator(read_parts)] = None
    reason: OptionalText = None
    fate: OptionalText = None
    colour: OptionalText = None
    clarity: Annotated[Clarity | None, BeforeValidator(OneOf(Clarity).read)] = None
    note: OptionalText = None

    @model_validator(mode="after")
    def _fits_its_kind(self) -> DrawRow:
        named = next((name for name in FROM_A_CASK if getattr(self, name) is not None), None)
        if self.kind is not DrawKind.CASK and named is not None:
            raise fault(f"a {self.kind.value} comes from no cask: leave this empty", column=named)
        if self.kind is not DrawKind.TRIAL and self.parts is not None:
            raise fault("only a trial has parts", column="parts")
        if self.abv is not None and self.reduced_to is not None and self.reduced_to > self.abv:
            raise fault(
                f"water only lowers the strength ({in_digits(self.abv, 'g')} % vol)",
                column="reduced_to",
            )
        return self


IN_REGISTER = ("volume_ml", "reason", "fate")
"""What a line of the register says of a draw; an empty one is filled in freely."""
UNSEEN_UNTIL_THE_REVEAL = ("colour", "clarity")
"""What whoever scores must not read: an empty cell leaves it as it stands."""


def take_draws(load: Load, rows: Sequence[DrawRow]) -> None:
    """Add samples and bring known ones up to date."""
    refuse_twins(load, rows, lambda row: row.sample, "sample", lambda key: f"sample {key}")
    told = (*load.unsound, *rows)
    parts = {name for row in rows for name in row.parts or ()}
    stock = fetch_stock(load.db, told_of(told, "filling") | parts, told_of(told, "cask"))
    found = select(Draw).options(
        joinedload(Draw.filling).joinedload(Filling.cask),
        selectinload(Draw.parts).joinedload(DrawPart.filling),
    )
    known = fetch(load.db, found, Draw.label, told_of(told, "sample"))
    intake = _Intake(load, stock, {draw.label: draw for draw in known}, _nosed_in(load))
    for row in load.unsound:
        intake.look(with_blanks(row))
    for row in load.going(rows):
        load.count(intake.take(row))


def _nosed_in(load: Load) -> dict[int, str]:
    """Return a session for every draw that was poured in one."""
    poured = select(KeyRow.draw_id, PanelSession.name).join(
        PanelSession, PanelSession.id == KeyRow.session_id
    )
    return {draw: session for draw, session in load.db.execute(poured)}


@dataclass
class _Intake:
    load: Load
    stock: FillingsNamed
    known: dict[str, Draw]
    nosed: dict[int, str]

    def take(self, row: DrawRow) -> RowOutcome:
        draw = self.known.get(row.sample)
        filling = self._filling(row, draw)
        values = self._values(row, filling)
        parts = self._parts(row)
        self._check_drawn(row, draw, filling)
        if draw is not None:
            self._check_not_nosed(row, draw, filling)
            self._check_register(row, draw, values)
            for column in UNSEEN_UNTIL_THE_REVEAL:
                if values.get(column) is None:  # a saved file leaves them out for so long
                    values.pop(column, None)
            changed = change(draw, values)
            changed = self._change_parts(draw, parts) or changed
            return RowOutcome.CHANGED if changed else RowOutcome.UNCHANGED
        draw = self.known[row.sample] = Draw(label=row.sample, parts=[], **values)
        self.load.db.add(draw)
        self._change_parts(draw, parts)
        return RowOutcome.NEW

    def look(self, row: DrawRow) -> None:
        """Note what else is at fault in a row that has faults, as far as it could be read."""
        draw = self.known.get(row.sample)
        named = (row.filling or row.cask) and row.drawn_on is not None
        self._check_drawn(row, draw, self._filling(row, draw) if named else None)

    def _check_drawn(self, row: DrawRow, draw: Draw | None, filling: Filling | None) -> None:
        """Note a strength or volume that is hardly so, unless it stands there already."""
        abv, volume = (None, None) if draw is None else (draw.abv, draw.volume_ml)
        if row.kind is DrawKind.CASK and row.abv is not None and row.abv != abv:
            if filling is None:
                check_weak(self.load, row.at, "abv", row.abv)
            else:
                check_strength(self.load, row.at, filling, row.abv, row.drawn_on)
        if filling and row.volume_ml and row.drawn_on and row.volume_ml != volume:
            check_drawn(self.load, row.at, filling, row.volume_ml, row.drawn_on)

    def _filling(self, row: DrawRow, draw: Draw | None) -> Filling | None:
        if row.kind is not DrawKind.CASK:
            return None
        if not self.load.headings & set(FROM_A_CASK) and draw is not None:
            return draw.filling
        filling = find_filling(self.load, row, self.stock, row.drawn_on)
        if filling is not None and row.drawn_on is not None:
            check_stay(self.load, row.at, "drawn_on", filling, row.drawn_on, "drawn from")
        return filling

    def _values(self, row: DrawRow, filling: Filling | None) -> dict[str, Any]:
        names = (
            *("kind", "batch", "drawn_on", "abv", "volume_ml", "reduced_to"),
            *("reason", "fate", "colour", "clarity", "note"),
        )
        values = self.load.present({name: (name, getattr(row, name)) for name in names})
        return {**values, "filling": filling}

    def _parts(self, row: DrawRow) -> dict[str, float]:
        for label in row.parts or ():
            if label not in self.stock.by_label:
                names = all_names(self.load.db, Filling.label)
                self.load.unknown(row.at, "parts", label, "filling", names)
        return {
            label: ml for label, ml in (row.parts or {}).items() if label in self.stock.by_label
        }

    def _change_parts(self, draw: Draw, parts: dict[str, float]) -> bool:
        before = {part.filling.label: part for part in draw.parts}
        if "parts" not in self.load.headings or parts == {
            label: part.millilitres for label, part in before.items()
        }:
            return False
        for label, part in before.items():
            if label not in parts:
                draw.parts.remove(part)
        for label, millilitres in parts.items():
            if label in before:
                before[label].millilitres = millilitres
            else:
                filling = self.stock.by_label[label]
                draw.parts.append(DrawPart(filling=filling, millilitres=millilitres))
        return True

    def _check_not_nosed(self, row: DrawRow, draw: Draw, filling: Filling | None) -> None:
        session = self.nosed.get(draw.id)
        if session is None:
            return
        message = f"{draw.label} was poured in session {session}: it stays the liquid it was"
        if row.kind is not draw.kind:
            self.load.fault(row.at, "kind", row.kind.value, message)
        elif filling is not None and filling is not draw.filling:
            self.load.fault(row.at, "filling", filling.label, message)

    def _check_register(self, row: DrawRow, draw: Draw, values: dict[str, Any]) -> None:
        """Note what would change a line of the register that stands: it is reversed instead.

        An empty cell clears nothing here: what was told since the file was written stays.
        """
        for column in IN_REGISTER:
            stands = getattr(draw, column)
            if stands is None or column not in values or values[column] == stands:
                continue
            if values[column] is None:
                del values[column]
                continue
            message = (
                f"{draw.label} stands in the register with {stands!s}: a line is reversed, not "
                "changed (`oakpanel register reverse`)"
            )
            self.load.fault(row.at, column, values[column], message)
