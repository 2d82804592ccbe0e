"""The nosed house with three releases bottled and a fourth proposed; all blends nosed blind."""

from __future__ import annotations

from sqlalchemy.orm import Session

from analysis.vatting import Drawing, Limits
from panel.kinds import GlassKind, ReleaseStatus, SessionKind, SessionStatus
from panel.release.bench import mix_bench
from panel.release.propose import from_litres, propose
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.own_words import OwnScore, OwnWord
from panel.store.people import Person
from panel.store.releases import Release
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.word_matches import OwnWordMatch
from tests.houses.kept import kept
from tests.houses.nosed import NOW, TODAY, YESTERDAY, add_evening, build_nosed, weigh_today

BOTTLED = ("Spring", "Summer", "Autumn")
RELEASES = {
    "Spring": (46.0, {"C1": 18.0, "C2": 24.0}),
    "Summer": (50.0, {"C3": 22.0, "C4": 26.0}),
    "Autumn": (43.0, {"C7": 30.0, "C8": 34.0}),
    "Winter": (46.0, {"C9": 40.0, "C10": 50.0}),
}
"""By release its strength and its litres; only Autumn and Winter are of peated malt."""
LEVELS = {
    "Spring-B1": (14.0, 10.0, 62.0),
    "Summer-B1": (22.0, 18.0, 50.0),
    "Autumn-B1": (44.0, 36.0, 33.0),
    "C1": (10.0, 8.0, 60.0),
    "C5": (30.0, 24.0, 44.0),
}
NOSED = (*(f"{name}-B1" for name in BOTTLED), "D-C1", "D-C5")
MEANINGS = {"ember": "A fire that has burnt down.", "honeycomb": "Wax and a little honey."}
WORDS = {"AA": "old jetty", "BB": "<b>church pew</b>"}
"""Words of assessors' own for Autumn's blend; a lead took the first to mean ember."""


@kept
def build_tasting(store: Store) -> None:
    """Write the house."""
    build_nosed(store)
    weigh_today(store)
    for name, (abv, litres) in RELEASES.items():
        limits = Limits(drawing=Drawing.PART, smallest_draw_litres=0.0, abv_percent=abv)
        with store.write() as db:
            wanted = from_litres(db, "Fen", limits, litres, as_of=TODAY)
            propose(db, name, wanted, as_of=TODAY, now=NOW, by="BL")
            if name in BOTTLED:
                mix_bench(db, name, volume_ml=40.0, as_of=TODAY, now=NOW, by="BL")
                _bottle(db, name)
    with store.write() as db:
        for version in db.query(DescriptorVersion):
            version.meaning = MEANINGS.get(version.descriptor.name)
        draws = [db.query(Draw).filter_by(label=label).one() for label in NOSED]
        words = db.query(DescriptorVersion).order_by(DescriptorVersion.id).all()
        add_evening(db, "blends", TODAY, draws, words, LEVELS, seed=9)
        _own_evening(db)


def _bottle(db: Session, name: str) -> None:
    release = db.query(Release).filter_by(name=name).one()
    release.status, release.lot_code = ReleaseStatus.BOTTLED, f"L-{name}"
    release.signed_by, release.signed_at = "LD", NOW
    release.disgorged_on = release.bottled_on = YESTERDAY
    release.bottles = 60


def _own_evening(db: Session) -> None:
    """Add a revealed session in own words that had Autumn's blend."""
    evening = PanelSession(
        name="own",
        held_on=TODAY,
        status=SessionStatus.REVEALED,
        kind=SessionKind.OWN_WORDS,
        loaded=True,
    )
    db.add(evening)
    db.flush()
    draw = db.query(Draw).filter_by(label="Autumn-B1").one()
    db.add(
        KeyRow(
            session_id=evening.id, code="417", draw_id=draw.id, kind=GlassKind.TRIAL, replicate=1
        )
    )
    for seat, (code, said) in enumerate(WORDS.items(), 1):
        who = db.query(Person).filter_by(code=code).one()
        evening.assessors.append(SessionAssessor(person=who, seat=seat))
        word = OwnWord(session=evening, person=who, place=1, word=said, named_at=NOW)
        glass = Serving(session_id=evening.id, person=who, code="417", position=1)
        db.add_all([word, glass])
        db.flush()
        db.add(OwnScore(serving=glass, own_word=word, value=60.0 - seat, given_at=NOW))
        if code == "AA":
            ember = db.query(Descriptor).filter_by(name="ember").one()
            db.add(
                OwnWordMatch(own_word=word, descriptor=ember, confirmed_by="LD", confirmed_at=NOW)
            )
    db.flush()
