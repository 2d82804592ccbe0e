"""A plan as it is typed, read into a plan as it is made; and back again from a draft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from panel.desk.typed import Entries, above_zero, from_one, from_zero, strength
from panel.figures import in_digits
from panel.kinds import USUAL_KIND, Manner, PeatOrder, SessionKind
from panel.session.assigned import Assigned
from panel.session.kinds import HELD
from panel.session.passing_asked import PassingAsked
from panel.session.plan_parts import AUTO, SessionPlan

NO_DUPLICATE = "none"
AUTO_TWICE = "auto twice"
BY_FLIGHTS = "by flights"
"""Smoke has flights of its own where there are several; else it comes last."""
BETWEEN = " < "
"""Stands between an assessor and a draw where a pair is one name: who noses, what is nosed."""
YES, NO = "yes", "no"


class PlanEntries(Entries):
    """What stands in the form of a plan; lists hold one name a line."""

    def text(self, name: str) -> str | None:
        """Return a field, or None where nothing stands in it."""
        return self.values.get(name) or None

    def names(self, name: str) -> tuple[str, ...]:
        """Return the names of a list."""
        return tuple(self.values.get(name, "").splitlines())


@dataclass(frozen=True)
class PairLine:
    """One draw for one assessor, to be ticked."""

    assessor: str
    draw: str

    @property
    def pair(self) -> str:
        """Both in one name."""
        return f"{self.assessor}{BETWEEN}{self.draw}"


def pair_lines(values: Mapping[str, str]) -> list[PairLine]:
    """Return every draw chosen for every assessor chosen."""
    people, draws = (values.get(name, "").splitlines() for name in ("assessors", "draws"))
    return [PairLine(who, draw) for who in people for draw in draws]


def _assigned(typed: PlanEntries) -> tuple[Assigned, ...]:
    """Return the pairs ticked, of those that can be: who or what was taken out again has none."""
    ticked = set(typed.names("assigned"))
    pairs = [line for line in pair_lines(typed.values) if line.pair in ticked]
    return tuple(Assigned(line.assessor, line.draw) for line in pairs)


def read_plan(values: Mapping[str, str]) -> tuple[SessionPlan | None, dict[str, str]]:
    """Return the plan, or the faults by field."""
    typed = PlanEntries(values)
    plan = SessionPlan(
        name=typed.text("name") or "",
        held_on=typed.day("held_on"),
        assessors=typed.names("assessors"),
        draws=typed.names("draws"),
        descriptors=typed.names("descriptors"),
        replicates=typed.read("replicates", from_one, "a number from 1 up") or 1,
        reference=typed.text("reference"),
        duplicates=_duplicates(typed.names("duplicate")),
        warm_up=typed.text("warm_up"),
        manner=Manner(typed.text("manner") or Manner.NOSE.value),
        may_go_back=typed.text("may_go_back") != NO,
        codes_per_assessor=typed.text("own_codes") == YES,
        pause_s=typed.read("pause_s", from_zero, "a number of seconds"),
        pour_ml=typed.read("pour_ml", above_zero, "millilitres, such as 20"),
        nosing_abv=typed.read("nosing_abv", strength, "a strength in % vol, such as 20"),
        seed=typed.read("seed", from_zero, "a whole number from 0 up"),
        insist=typed.text("insist") == YES,
        glasses_each=typed.read("each", from_one, "a number of draws from 2 up"),
        assigned=_assigned(typed),
        peat=_peat(typed.text("peat")),
        after_peat=typed.text("after_peat") == YES,
        search=typed.read("search", from_one, "a number from 1 up") or 1,
        site=typed.text("site"),
        kind=SessionKind(typed.text("kind") or USUAL_KIND),
        alike_within=typed.read("alike_within", above_zero, "a d-prime, such as 1"),
        stronger=typed.text("stronger"),
        most_words=typed.read("most_words", from_one, "a number of words from 1 up"),
        passing=_passing(typed),
        stages=typed.names("stages"),
    )
    _ask_for_the_needed(typed, plan)
    return (None if typed.faults else plan), typed.faults


def _ask_for_the_needed(typed: PlanEntries, plan: SessionPlan) -> None:
    wanted = {
        "name": "give the session a name",
        "assessors": "choose who noses",
        "draws": "choose what is nosed",
    }
    if plan.passing and (plan.passing.parcel or plan.passing.again_of):
        del wanted["draws"]
    if not plan.descriptors and any(HELD[plan.kind].line_faults(plan)):
        wanted["descriptors"] = "choose what is scored"
    for name, words in wanted.items():
        if typed.text(name) is None:
            typed.faults.setdefault(name, words)


def _passing(typed: PlanEntries) -> PassingAsked | None:
    kind = SessionKind(typed.text("kind") or USUAL_KIND)
    asked = PassingAsked(
        parcel=typed.text("parcel"),
        again_of=typed.text("again"),
        casks=typed.read("casks", from_one, "a number of casks from 1 up"),
    )
    if kind.facts.passes:
        return asked
    for name, value in (
        ("parcel", asked.parcel),
        ("casks", asked.casks),
        ("again", asked.again_of),
    ):
        if value is not None:
            typed.faults[name] = "goes with passing"
    return None


def _peat(word: str | None) -> PeatOrder | None:
    return None if word in (None, BY_FLIGHTS) else PeatOrder(word)


def _duplicates(names: tuple[str, ...]) -> tuple[str, ...]:
    """Return what is poured twice; two unseen ones have a name, as no list holds one twice."""
    each = ((AUTO, AUTO) if name == AUTO_TWICE else (name,) for name in names or (AUTO,))
    return tuple(name for part in each for name in part if name != NO_DUPLICATE)


def values_of(plan: SessionPlan) -> dict[str, str]:
    """Return what the form would hold for a plan, so that it can be planned again."""
    values = {
        "name": plan.name,
        "held_on": str(plan.held_on or ""),
        "assessors": "\n".join(plan.assessors),
        "draws": "\n".join(plan.draws),
        "descriptors": "\n".join(plan.descriptors),
        "replicates": str(plan.replicates),
        "reference": plan.reference or "",
        "duplicate": "\n".join(plan.duplicates) or NO_DUPLICATE,
        "warm_up": plan.warm_up or "",
        "manner": plan.manner.value,
        "may_go_back": YES if plan.may_go_back else NO,
        "own_codes": YES if plan.codes_per_assessor else NO,
        "pause_s": str(plan.pause_s),
        "pour_ml": _figure(plan.pour_ml),
        "nosing_abv": _figure(plan.nosing_abv),
        "each": _count(plan.glasses_each),
        "assigned": "\n".join(PairLine(p.assessor, p.sample).pair for p in plan.assigned),
        "peat": "" if plan.peat is None else plan.peat.value,
        "after_peat": YES if plan.after_peat else "",
        "search": "" if plan.search == 1 else str(plan.search),
        "site": plan.site or "",
        "kind": plan.kind.value,
        "parcel": (plan.passing.parcel or "") if plan.passing else "",
        "casks": _count(plan.passing.casks) if plan.passing else "",
        "again": (plan.passing.again_of or "") if plan.passing else "",
        "alike_within": _figure(plan.alike_within),
        "stronger": plan.stronger or "",
        "most_words": _count(plan.most_words),
        "stages": "\n".join(plan.stages),
        "seed": _count(plan.seed),
        "insist": YES if plan.insist else NO,
    }
    return {name: value for name, value in values.items() if value}


def _count(value: int | None) -> str:
    return "" if value is None else str(value)


def _figure(value: float | None) -> str:
    return "" if value is None else in_digits(value, "g")
