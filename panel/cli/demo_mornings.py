"""The demo's sessions of the other kinds: answered on paper, keyed twice, closed and revealed.

What is answered stands in a file by sample. Which glass holds it only the key tells; it is read
here as the pourer reads it, to write the right answers on the ballots. Of threes the file has what
was felt of each glass; which is the odd one, or the like of the first, comes of those that stand in
the set.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from panel.cli.demo_evening import LEAD
from panel.cli.invocation import writing_to
from panel.kinds import Fault, Manner, SessionKind, Task
from panel.session.keyed import HOLD, PASS, PLACE, KeyedLine
from panel.session.sets import Answering

if TYPE_CHECKING:
    from panel.session.plan_parts import SessionPlan
    from panel.store.engine import Store

PARCEL = "Reed barrels 18-22"
KNOWN_SOUND = "SW1803-2"
STOCKS = {
    Fault.SULPHUR: "dimethyl disulphide, 40 micrograms a litre",
    Fault.MOULD_OR_CORK: "trichloroanisole, 60 nanograms a litre",
    Fault.SOLVENT: "ethyl acetate, 900 mg a litre",
}
SAFETY_SHEET = "folder 4 of the sample room"
LEFT, DESTROYED = "nosed; what was left poured away", "destroyed after the session"

Glass = tuple[str, str, int, str, int]
"""Session, assessor, set (0 in passing; of a trace the second), sample, how often it was there."""


@dataclass(frozen=True)
class Morning:
    """A session to be held so many days before the evening."""

    days_before: int
    name: str
    descriptors: tuple[str, ...] = ()
    replicates: int = 1
    reference: str | None = None
    manner: Manner = Manner.NOSE
    stages: tuple[str, ...] = ()


MORNINGS = (
    Morning(9, "own-names"),
    Morning(8, "smoke-stages", reference="REF-2", manner=Manner.TASTE, stages=("hearth smoke",)),
    Morning(7, "reference-like", reference="REF-1"),
    Morning(6, "custard-odd"),
    Morning(5, "smoke-minute", ("hearth smoke",)),
    Morning(4, "reed-barrels"),
    Morning(3, "hearth-pairs", ("hearth smoke",), 3),
    Morning(2, "reference-fours", (), 3),
    Morning(1, "custard-order", ("custard skin",)),
)


@dataclass(frozen=True)
class Answers:
    """What kind each session is of, and what will be answered, by glass."""

    kinds: Mapping[str, SessionKind]
    says: Mapping[Glass, str]


def read_answers(path: Path) -> Answers:
    """Read what will be answered."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    says = {
        (r["session"], r["assessor"], int(r["number"] or 0), r["sample"], int(r["copy"])): r["says"]
        for r in rows
    }
    return Answers({r["session"]: SessionKind(r["kind"]) for r in rows}, says)


def hold_mornings(
    store: Store, said: Answers, evening: datetime, tell: Callable[[str], None]
) -> None:
    """Hold each at the hour of the evening, on a day of its own before it."""
    for morning in MORNINGS:
        if said.kinds[morning.name].facts.passes:
            keep_what_is_planted(store, evening - timedelta(days=morning.days_before, hours=1))
        tell(f"{morning.name}: {said.kinds[morning.name].value}, keyed in from paper")
        hold(store, morning, said, evening - timedelta(days=morning.days_before))


def keep_what_is_planted(store: Store, now: datetime) -> None:
    """Keep a sound sample of the parcel's make, and three spikes made on it."""
    from panel.records.planting import SpikeMade, keep_sound, keep_spike

    with writing_to(store) as db:
        keep_sound(db, KNOWN_SOUND, now=now, by=LEAD)
    for fault, stock in STOCKS.items():
        made = SpikeMade(f"spike {fault.value}", fault, KNOWN_SOUND, stock, SAFETY_SHEET)
        with writing_to(store) as db:
            keep_spike(db, replace(made, volume_ml=500.0), now=now, by=LEAD)


def hold(store: Store, morning: Morning, said: Answers, now: datetime) -> None:
    """Plan, seal and open a session, key its ballots in twice, close it and open the key."""
    from panel.records.register import account_for_session
    from panel.session.keyed import keep_ballots
    from panel.session.plan import plan_session
    from panel.session.seal import seal_session
    from panel.session.stages import close_session, open_session, reveal_session

    name, opened = morning.name, now + timedelta(minutes=10)
    with writing_to(store) as db:
        plan_session(db, planned(morning, said), now=now, by=LEAD)
    with writing_to(store) as db:
        seal_session(db, name, now=now, by=LEAD)
    with writing_to(store) as db:
        open_session(db, name, now=opened, by=LEAD)
    ballots = list(ballots_of(store, morning, said))
    keyed, revealed = opened + timedelta(minutes=60), opened + timedelta(minutes=75)
    with writing_to(store) as db:
        keep_ballots(db, name, ballots, list(ballots), now=keyed, by=LEAD)
    with writing_to(store) as db:
        close_session(db, name, now=keyed, by=LEAD)
    with writing_to(store) as db:
        reveal_session(db, name, now=revealed, by=LEAD)
    told = {"leftovers": LEFT, "reason": f"blind session {name}"}
    with writing_to(store) as db:
        spikes = DESTROYED if said.kinds[name].facts.passes else None
        account_for_session(db, name, **told, spikes=spikes, now=revealed, by=LEAD)


def planned(morning: Morning, said: Answers) -> SessionPlan:
    """Return the plan: who answers, and of which samples, as the file has them."""
    from panel.session.passing_asked import PassingAsked
    from panel.session.plan_parts import SessionPlan

    mine = [glass for glass in said.says if glass[0] == morning.name]
    kind = said.kinds[morning.name]
    passes = kind.facts.passes
    # In sets the reference is one of the two products, else it stands beside them.
    beside = None if kind.facts.in_sets else morning.reference
    return SessionPlan(
        name=morning.name,
        kind=kind,
        assessors=tuple(dict.fromkeys(who for _, who, *_ in mine)),
        draws=() if passes else tuple(dict.fromkeys(one for *_, one, _ in mine if one != beside)),
        descriptors=morning.descriptors or notes_of(mine, kind, said),
        stages=morning.stages,
        manner=morning.manner,
        replicates=morning.replicates,
        reference=morning.reference,
        passing=PassingAsked(parcel=PARCEL) if passes else None,
    )


def notes_of(mine: Sequence[Glass], kind: SessionKind, said: Answers) -> tuple[str, ...]:
    """Return the house's notes that a kind by stages is scored on: those of its first glass."""
    if not kind.facts.staged:
        return ()
    return tuple(name for name, _ in lines_of(said.says[mine[0]]) if ", " not in name)


def lines_of(sheet: str) -> Iterator[tuple[str, str]]:
    """Give the lines of a glass, each with its score."""
    for line in sheet.split("; "):
        name, _, score = line.rpartition("=")
        yield name, score


def ballots_of(store: Store, morning: Morning, said: Answers) -> Iterable[KeyedLine]:
    """Write each ballot: the answer of every glass by its code."""
    from panel.session.pours import poured_by_tray

    with store.read() as db:
        poured = poured_by_tray(db, morning.name)
    facts = said.kinds[morning.name].facts
    on_lines = facts.staged or facts.own_lines
    for who, code, _, sample in poured if facts.traced else ():
        for second in facts.prompts_s:
            key = said.says[morning.name, who, second, sample, 1]
            yield KeyedLine(who, code, f"{second} s", key)
    for who, code, _, sample in poured if on_lines else ():
        for line, score in lines_of(said.says[morning.name, who, 0, sample, 1]):
            yield KeyedLine(who, code, line, score)
    if facts.traced or on_lines:
        return
    sets: dict[tuple[str, int], dict[str, str]] = {}
    before: Counter[tuple[str, int, str]] = Counter()
    for who, code, flight, sample in poured:
        number = 0 if facts.passes else flight
        before[who, number, sample] += 1
        says = said.says[morning.name, who, number, sample, before[who, number, sample]]
        sets.setdefault((who, number), {})[code] = says
    for (who, _), one in sets.items():
        yield from _pass_lines(who, one) if facts.passes else _set_lines(who, one, facts.task)


def _pass_lines(who: str, says: Mapping[str, str]) -> Iterator[KeyedLine]:
    for code, fault in says.items():
        yield KeyedLine(who, code, HOLD if fault else PASS, fault)


def _set_lines(who: str, says: Mapping[str, str], task: Task | None) -> Iterator[KeyedLine]:
    """Give the places of a set: as they are said, or as what was felt of each glass has them."""
    places = list(says.values())
    if task in CHOSEN:
        number = CHOSEN[task]([float(felt) for felt in places])
        found = Answering(task, len(places)).with_number(number).places()
        places = [str(place) for place in found]
    for code, place in zip(says, places, strict=True):
        yield KeyedLine(who, code, PLACE, place)


def _odd_one(felt: Sequence[float]) -> int:
    """Return which of three is left where the two nearest go together."""
    apart = {n: abs(felt[n - 1] - felt[n - 2]) for n in range(len(felt))}
    return min(apart, key=apart.__getitem__)


def _like_first(felt: Sequence[float]) -> int:
    """Return which of the others is nearest to the first."""
    return min(range(1, len(felt)), key=lambda n: abs(felt[n] - felt[0]))


CHOSEN = {Task.ODD: _odd_one, Task.MATCH: _like_first}
"""What is chosen of a set by what was felt of each of its glasses, in their order."""
