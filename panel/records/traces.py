"""Where in the records a person can be named, column by column.

Every column that holds text stands in one of these lists; a test takes the columns from the models
and fails for one that does not. What a column of `NAMES` says is the house's own name for a thing
or its lexicon: erasing a person leaves it and tells where it speaks of them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Column, String, Table, inspect, select, update
from sqlalchemy.orm import InstrumentedAttribute, Mapper, Session

from analysis.bars import Bar
from panel.store.answers import AnswerChange
from panel.store.base import Base
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import (
    Cask,
    EventReversal,
    Filling,
    FillingEvent,
    HoldChange,
    Make,
    Regauge,
)
from panel.store.consents import Consent
from panel.store.draws import Draw, RegisterReversal
from panel.store.house_setting import HouseSetting
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.list_edits import ListEdit
from panel.store.log import LogEntry
from panel.store.mixing_notes import MixingNote
from panel.store.own_words import OwnScoreChange, OwnWord
from panel.store.passing import Passing
from panel.store.people import Person, PersonName, SignInTry
from panel.store.person_record import without
from panel.store.planted import Planted
from panel.store.releases import Release
from panel.store.review_ticks import ReviewTick
from panel.store.rule_sets import RuleLine, RuleSet
from panel.store.sessions import (
    BoothSeat,
    PanelSession,
    ScoreChange,
    Serving,
    ServingMark,
    ServingNote,
)
from panel.store.site_packs import PackAmount, SitePack
from panel.store.stock_plans import PlannedRelease, StoredPlan
from panel.store.stops import DrawStop
from panel.store.tables import METADATA
from panel.store.targets import StoredTarget
from panel.store.word_matches import OwnWordMatch

Attribute = InstrumentedAttribute[Any]

CODES: tuple[Attribute, ...] = (
    *(Person.code, ScoreChange.by_code, ServingMark.by_code, KeyRow.tray),
    *(OwnScoreChange.by_code, AnswerChange.by_code, OwnWordMatch.confirmed_by),
    *(Release.proposed_by, Release.signed_by, Release.disgorged_by),
    *(EventReversal.by_code, HoldChange.by_code, RegisterReversal.by_code),
    *(DrawStop.by_code, DrawStop.lifted_by),
    *(ReviewTick.by_code, BottleRemark.by_code),
    *(Planted.made_by, SitePack.by_code, PackAmount.by_code),
)
"""Hold a person's code and nothing else: the pseudonym takes its place."""
WORDS: tuple[Attribute, ...] = (
    *(PanelSession.note, ServingMark.note, ServingNote.text, OwnWord.word, BoothSeat.place),
    *(Make.note, Cask.note, Filling.hold_reason, FillingEvent.note, Regauge.note),
    *(Draw.note, Draw.reason, Draw.fate, Draw.colour, MixingNote.source),
    *(DrawStop.note, DrawStop.lifted_because),
    *(Planted.stock, Planted.safety_sheet, Passing.told),
    *(SitePack.water, SitePack.recalled_because),
    *(HoldChange.reason, HoldChange.reason_before),
    *(RegisterReversal.reason, RegisterReversal.fate, RegisterReversal.because),
    *(Release.reason, Release.signed_despite, Release.cancelled_because),
    *(ReviewTick.note, BottleRemark.said, BottleRemark.outcome, LotBottle.gone_to),
    *(RemarkPerson.outside_name, RemarkPerson.reach),
    *(ListEdit.name, ListEdit.part, ListEdit.before_json, ListEdit.after_json),
)
"""What people wrote freely: code and real name are replaced wherever they stand in it.

What a list held before an edit too: that is no name of the house's any more, or stands elsewhere.
"""
DOCUMENTS: tuple[Attribute, ...] = (
    *(Release.limits_json, Release.predicted_json, Release.found_json, StoredPlan.found_json),
)
"""JSON in which sentences may stand: likewise, but for what is the name of a record."""
WRITTEN = frozenset({"hold_reason"})
"""Keys of documents whose text is no name of a record, even where it reads like one."""
OLD_DIGEST = "stood", re.compile(r"[0-9a-f]{16}")
"""The key of a document, and the form, of a digest of words that older versions kept there."""
OWN: tuple[Attribute, ...] = (Person.pin_hash, PersonName.full_name, BoothSeat.token_hash)
"""Of the person alone: deleted."""
CLEARED: tuple[Attribute, ...] = (LogEntry.body_json, LogEntry.nonce_hex)
"""Of the log: an entry that speaks of the person loses both, the chain stays."""
NAMES: tuple[Attribute, ...] = (
    *(PanelSession.name, PanelSession.site, Make.name, Make.site, Make.cereal, Make.campaign),
    *(Cask.number, Cask.wood, Filling.label, Filling.parcel, Filling.previous, Filling.owner),
    *(Filling.site, Filling.warehouse, Filling.row, Filling.tier),
    *(FillingEvent.site, FillingEvent.warehouse, FillingEvent.row, FillingEvent.tier),
    *(Draw.label, Draw.batch, Descriptor.name, DescriptorVersion.meaning),
    *(DescriptorVersion.reference_recipe, DescriptorVersion.low_words),
    *(DescriptorVersion.high_words, StoredTarget.name, Release.name, Release.lot_code),
    *(RuleSet.name, RuleLine.cites, HouseSetting.value, Consent.text_version, LotBottle.place),
    *(StoredPlan.name, StoredPlan.limits, PlannedRelease.name, PlannedRelease.rule_set),
    *(PlannedRelease.limits, Passing.parcel, SitePack.site),
)
NEVER: tuple[Attribute, ...] = (
    *(HouseSetting.name, Serving.code, Serving.read_as, KeyRow.code, LogEntry.kept_json),
    *(SignInTry.transaction_id, ReleaseBatch.found_json, ReviewTick.reason),
)
"""Made by the program: a setting's name, codes of glasses, digests and numbers of rows, figures."""
DIGITS = re.compile(r"(?:.*_)?(?:hex|hash|nonce)")
"""Columns so called hold random or reckoned digits: nobody writes into them."""


def text_columns(tables: Iterable[Table] = tuple(METADATA.sorted_tables)) -> Iterator[Column[Any]]:
    """Give every column that can hold any text (choices hold their own words only)."""
    for table in tables:
        for column in table.columns:
            if type(column.type) is String and not DIGITS.fullmatch(column.name):
                yield column


def columns_of(attributes: Iterable[Attribute]) -> set[Column[Any]]:
    """Return the columns that attributes of the models stand for."""
    return {attribute.property.columns[0] for attribute in attributes}


def rename(db: Session, code: str, name: str | None, pseudonym: str) -> tuple[str, ...]:
    """Put *pseudonym* wherever the records name a person; return the releases that it changed.

    Digests that older versions kept of words are taken out of every document: whose words they
    were of nobody can see, and who tries codes on them could.
    """
    for column in CODES:
        db.execute(update(column.class_).where(column == code).values({column.key: pseudonym}))
    known = [word for word in (code, name) if word]
    for attribute in WORDS:
        _rewrite(
            db,
            attribute,
            lambda said: _plain(said, known, pseudonym) if speaks_of(said, known) else said,
        )
    named = _Named(tuple(known), pseudonym, frozenset(_record_names(db)))
    touched: set[str] = set()
    for attribute in DOCUMENTS:
        _rewrite(db, attribute, lambda said: _document(said, _without_digests))
        rows = _rewrite(db, attribute, lambda said: _document(said, named.out_of))
        touched.update(row.name for row in rows if isinstance(row, Release))
    return tuple(sorted(touched))


def _plain(said: str, known: Iterable[str], pseudonym: str) -> str:
    for word in known:
        said = without(said, word, pseudonym)
    return said


def _document(said: str, new: Callable[[Any], Any]) -> str:
    held = json.loads(said)
    changed = new(held)
    return said if changed == held else json.dumps(changed)


@dataclass(frozen=True)
class _Named:
    """A person as documents may name them, and all names of records as they are now."""

    known: tuple[str, ...]
    pseudonym: str
    names: frozenset[str]

    def out_of(self, value: Any, *, written: bool = False) -> Any:
        """Return a document in which the pseudonym stands for the person."""
        if isinstance(value, str):
            if value in self.names and not written:
                return value
            return _plain(value, self.known, self.pseudonym)
        if isinstance(value, list):
            return [self.out_of(each, written=written) for each in value]
        if isinstance(value, dict) and not self._tells_their_cask(value):
            return {key: self.out_of(each, written=key in WRITTEN) for key, each in value.items()}
        return value

    def _tells_their_cask(self, value: dict[str, Any]) -> bool:
        """Say whether this tells of a cask whose owner, by the records, bears the person's name.

        The owner stays in the record of the cask: a pseudonym here would lead from it to them.
        """
        if value.get("bar") != Bar.OWNER.value:
            return False
        theirs = [name for name in self.names if speaks_of(name, self.known)]
        return any(speaks_of(str(each), theirs) for each in value.values())


def reword_holds(db: Session, before: str, after: str) -> None:
    """Write *after* where the reason of a hold is repeated with what was agreed to of it.

    What was found at a disgorging is left: it may be signed as it stands.
    """
    for attribute in (Release.predicted_json, StoredPlan.found_json):
        _rewrite(db, attribute, lambda said: _document(said, lambda d: _reworded(d, before, after)))


def _reworded(value: Any, before: str, after: str) -> Any:
    if isinstance(value, list):
        return [_reworded(each, before, after) for each in value]
    if not isinstance(value, dict):
        return value
    if value.get("bar") != Bar.HOLD.value:
        return {key: _reworded(each, before, after) for key, each in value.items()}
    return {
        key: each.replace(before, after) if isinstance(each, str) and key != "cask" else each
        for key, each in value.items()
    }


def _without_digests(value: Any) -> Any:
    """Return a document without what older versions kept of words to tell bars apart."""
    key, form = OLD_DIGEST
    if isinstance(value, list):
        return [_without_digests(each) for each in value]
    if isinstance(value, dict):
        return {
            name: _without_digests(each)
            for name, each in value.items()
            if not (name == key and isinstance(each, str) and form.fullmatch(each))
        }
    return value


def _rewrite(db: Session, attribute: Attribute, new: Callable[[str], str]) -> list[Any]:
    """Change the texts of a column; return the records changed."""
    mapper: Mapper[Any] = inspect(attribute.class_)
    key = [mapper.get_property_by_column(column).class_attribute for column in mapper.primary_key]
    changed = []
    for *place, said in db.execute(select(*key, attribute).where(attribute.is_not(None))).all():
        if (put := new(said)) != said:
            record = db.get(mapper, tuple(place))
            setattr(record, attribute.key, put)
            changed.append(record)
    db.flush()
    return changed


def speaks_of(said: str, known: Iterable[str]) -> bool:
    """Say whether a text holds one of these words by itself, in whatever case."""
    return any(without(said, word, "") != said for word in known)


def _record_names(db: Session) -> set[str]:
    return {
        said
        for attribute in NAMES
        for said in db.scalars(select(attribute).where(attribute.is_not(None)).distinct())
    }


def still_named(db: Session, code: str, name: str | None) -> tuple[str, ...]:
    """Return what of the house's own names speaks of a person: a word, not always theirs."""
    known = [word for word in (code, name) if word]
    found = []
    for attribute in NAMES:
        for said in db.scalars(select(attribute).where(attribute.is_not(None)).distinct()):
            if speaks_of(said, known):
                table = attribute.class_.__tablename__.replace("_", " ")
                found.append(f"{table} {attribute.key.replace('_', ' ')}: {said}")
    return tuple(sorted(found))


def touched_tables() -> set[str]:
    """Return the tables that an erasure may write in: on a server each is written anew."""
    written = (*CODES, *WORDS, *DOCUMENTS, *OWN, *CLEARED)
    named: set[str] = {attribute.class_.__tablename__ for attribute in written}
    return named | {table.name for table in Base.metadata.sorted_tables if _of_people(table)}


def _of_people(table: Table) -> bool:
    """Say whether rows of a table belong to a person, a glass of theirs or a word of theirs."""
    pointed = {key.column.table.name for key in table.foreign_keys}
    return bool(pointed & {"person", "serving", "own_word"})
