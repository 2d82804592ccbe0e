"""The names in a score file: known, unknown with the nearest, or made where that was asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches

from sqlalchemy import select
from sqlalchemy.orm import joinedload, selectinload

from panel.intake.columns import plain_heading
from panel.intake.fillings import FillingsNamed, emptied_on, fetch_stock
from panel.intake.load import Load, all_names, fetch
from panel.intake.score_rows import COLUMNS, CellFault, GlassRow, LineRow, RawRow, ScoreFile
from panel.kinds import DrawKind, GlassKind, Role, Stage
from panel.problems import with_way
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person, PersonRole

MADE_LOW, MADE_HIGH = "not perceived", "very strong"
ALIKE = 0.8
DRAW_KINDS = {GlassKind.REFERENCE: DrawKind.REFERENCE, GlassKind.TRIAL: DrawKind.TRIAL}


@dataclass
class Names:
    """People, samples and descriptors of one score file by name."""

    load: Load
    wide: bool
    people: dict[str, Person] = field(default_factory=dict)
    draws: dict[str, Draw] = field(default_factory=dict)
    descriptors: dict[str, Descriptor] = field(default_factory=dict)
    stock: FillingsNamed = field(default_factory=FillingsNamed)

    @classmethod
    def of(cls, load: Load, file: ScoreFile) -> Names:
        """Fetch every record that the file names."""
        glasses = [glass for glass in file.glasses if isinstance(glass, GlassRow)]
        lines = [line for line in file.lines if isinstance(line, LineRow)]
        raw = [*file.unsound_glasses.values(), *file.unsound_lines.values()]
        names = cls(load, file.wide)
        names._fetch_people({g.assessor for g in glasses} | _named(raw, "assessor"))
        names._fetch_draws({g.sample for g in glasses} | _named(raw, "sample"))
        names._fetch_words({one.descriptor for one in lines} | _named(raw, "descriptor"))
        names.stock = fetch_stock(load.db, (), {glass.cask for glass in glasses})
        return names

    def _fetch_people(self, codes: Iterable[str]) -> None:
        found = fetch(self.load.db, select(Person), Person.code, codes)
        self.people = {person.code: person for person in found}

    def _fetch_draws(self, labels: Iterable[str]) -> None:
        with_cask = select(Draw).options(joinedload(Draw.filling).joinedload(Filling.cask))
        self.draws = {one.label: one for one in fetch(self.load.db, with_cask, Draw.label, labels)}

    def _fetch_words(self, words: Iterable[str]) -> None:
        found = select(Descriptor).options(selectinload(Descriptor.versions))
        known = fetch(self.load.db, found, Descriptor.name, words)
        self.descriptors = {one.name: one for one in known}

    def person(self, code: str) -> Person | CellFault:
        """Return an assessor, made where that was asked."""
        if code in self.people:
            return self.people[code]
        if not self.load.create:
            near = self.load.nearest(code, "assessor", all_names(self.load.db, Person.code))
            return _unknown("assessor", code, "assessor", near)
        person = Person(code=code, roles=[PersonRole(role=Role.ASSESSOR)])
        self.people[code] = person
        self._made("assessors", person, code)
        return person

    def draw(self, glass: GlassRow) -> Draw | CellFault:
        """Return the sample of a glass, made where that was asked."""
        draw = self.draws.get(glass.sample)
        if draw is not None:
            return _against(draw, glass) or draw
        if not self.load.create:
            near = self.load.nearest(glass.sample, "sample", all_names(self.load.db, Draw.label))
            return _unknown("sample", glass.sample, "sample", near)
        filling = self._filling(glass)
        if isinstance(filling, CellFault):
            return filling
        kind = DRAW_KINDS.get(glass.kind or GlassKind.TEST, DrawKind.MARKET)
        draw = Draw(
            label=glass.sample, kind=DrawKind.CASK if filling else kind, filling=filling, parts=[]
        )
        self.draws[glass.sample] = draw
        self._made("samples", draw, glass.sample)
        return draw

    def unknown_in(self, raw: RawRow) -> list[CellFault]:
        """Return the unknown names of a row that has other faults too."""
        if self.load.create:
            return []
        lists = (
            ("assessor", self.people, Person.code),
            ("sample", self.draws, Draw.label),
            ("descriptor", self.descriptors, Descriptor.name),
        )
        return [
            _unknown(
                what, name, what, self.load.nearest(name, what, all_names(self.load.db, column))
            )
            for what, known, column in lists
            if (name := raw.get(what)) and name not in known
        ]

    def _filling(self, glass: GlassRow) -> Filling | CellFault | None:
        if glass.cask is None:
            return None
        if glass.cask not in self.stock.by_cask:
            near = self.load.nearest(glass.cask, "cask", all_names(self.load.db, Cask.number))
            return CellFault("cask", glass.cask, f"there is no cask of this name{near}")
        day = glass.held_on or self.load.today
        within = [one for one in self.stock.by_cask[glass.cask] if _was_in(one, day)]
        if not within:
            words = f"nothing was in this cask on {day}: load the sample with `load draws`"
            return CellFault("cask", glass.cask, words)
        return within[-1]

    def descriptor(self, name: str) -> Descriptor | CellFault:
        """Return a descriptor, made where that was asked."""
        if name in self.descriptors:
            return self.descriptors[name]
        if self.wide and (meant := _column_meant(name)):
            words = f"is this the column {meant}? If it is a descriptor, load the lexicon first"
            return CellFault(name, name, words)
        if not self.load.create:
            known = all_names(self.load.db, Descriptor.name)
            near = self.load.nearest(name, "descriptor", known)
            return _unknown(name if self.wide else "descriptor", name, "descriptor", near)
        version = DescriptorVersion(
            version=1, stage=Stage.NOSE, low_words=MADE_LOW, high_words=MADE_HIGH
        )
        made = Descriptor(name=name, versions=[version])
        self.descriptors[name] = made
        self._made("descriptors", made, name)
        return made

    def _made(self, what: str, record: object, name: str) -> None:
        self.load.db.add(record)
        self.load.created.setdefault(what, []).append(name)


def _named(raw: Iterable[RawRow], column: str) -> set[str]:
    return {row[column] for row in raw if row.get(column)}


def _was_in(filling: Filling, day: date) -> bool:
    emptied = emptied_on(filling)
    return filling.filled_on <= day and (emptied is None or day <= emptied)


def _unknown(column: str, name: str, what: str, near: str) -> CellFault:
    wrong = f"there is no {what} of this name{near}"
    option, at_desk = "; --create makes it", "; Unknown names in the form of one file makes it"
    return CellFault(column, name, with_way(wrong, option=option, at_desk=at_desk))


def _column_meant(heading: str) -> str | None:
    close = get_close_matches(plain_heading(heading), COLUMNS.known, n=1, cutoff=ALIKE)
    return close[0] if close else None


def _against(draw: Draw, glass: GlassRow) -> CellFault | None:
    """Return what of a known sample the row contradicts."""
    if glass.held_on is not None and draw.drawn_on is not None and glass.held_on < draw.drawn_on:
        words = f"sample {draw.label} was drawn on {draw.drawn_on}, after this session"
        return CellFault("held_on", str(glass.held_on), words)
    if glass.cask is None:
        return None
    if draw.filling is None:
        words = f"sample {draw.label} is a {draw.kind.value}: it comes from no cask"
        return CellFault("cask", glass.cask, words)
    if draw.filling.cask.number != glass.cask:
        words = f"sample {draw.label} was drawn from cask {draw.filling.cask.number}"
        return CellFault("cask", glass.cask, words)
    return None
