"""Ways of choosing what is nosed next, each on the worlds of `next_worlds`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np
import pandas as pd

from analysis.next_glasses import (
    Known,
    NextSession,
    NextSettings,
    Room,
    first_session,
    known_from,
    next_for_target,
)
from analysis.next_glasses.margins import margins_of
from analysis.next_glasses.states import states_of
from analysis.next_glasses.value import worth
from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.profile.terms import FILLING, SAMPLE
from analysis.target import Target, TargetLine
from analysis.vatting import Stock, stock_from_profile
from tests.bench.next_worlds import BEST, CASKS, N_CASKS, REFERENCE, SEATS, House, regret_of

STOCK = pd.DataFrame(
    {"cask": CASKS, "filling": CASKS, "age_years": 8.0, "abv": 60.0, "bulk_l": 180.0}
)
SETTINGS = ProfileSettings(processes=1)


@dataclass(frozen=True)
class Step:
    """One session of a policy, and what was known after it.

    Attributes
    ----------
    glasses
        Test glasses so far.
    regret
        Points, of the casks that would be chosen.
    promised
        Expected loss of deciding then, points; None where nothing promises one.
    covered
        Share of the chosen whose 95 % interval holds the truth.
    told, happened
        Of casks looked at: the chance told that the next session moves it over the cut, and
        whether it did.
    """

    session: int
    glasses: int
    regret: float
    promised: float | None = None
    covered: float | None = None
    told: tuple[float, ...] = ()
    happened: tuple[bool, ...] = ()


class Policy:
    """A house that nosed nothing yet, and goes on by one way of choosing."""

    name = ""
    fits = True

    def __init__(self, made: House, *, told: bool) -> None:
        self.made, self.told = made, told
        self.frames: list[pd.DataFrame] = []
        self.profile: Profile | None = None
        self.truth = made.truth()
        self.worth = made.worth(self.truth)
        self.target = Target("High", (TargetLine("note", made.aim, 5.0),))
        self.glasses = 0
        self.last = Step(-1, 0, np.inf)

    def run(
        self, sessions: int, ends: Callable[[Step], bool] = lambda _: False
    ) -> list[dict[str, object]]:
        """Hold so many sessions, or until one ends it; `last` is the last of them."""
        steps: list[Step] = []
        for session in range(sessions):
            trays = self.trays(session, self.made.who_comes(session))
            self.frames.append(self.made.session(session, trays))
            self.glasses += sum(len(casks) for casks in trays.values())
            step = self.last = self.after(session)
            if steps:
                steps[-1] = self.looked_back(steps[-1])
            steps.append(step)
            if ends(step):
                break
        return [asdict(step) for step in steps]

    def trays(self, session: int, people: Sequence[str]) -> dict[str, list[str]]:
        """Who noses what."""
        raise NotImplementedError

    def after(self, session: int) -> Step:
        """Choose by what is known after a session."""
        raise NotImplementedError

    def looked_back(self, step: Step) -> Step:
        """Say what became of what was foretold; nothing was."""
        return step

    @property
    def scores(self) -> pd.DataFrame:
        return pd.concat(self.frames, ignore_index=True)

    def fit(self) -> Known | None:
        """What the house knows now; None where there is too little for any estimate."""
        covariates = self.made.covariates if self.told else None
        self.profile = estimate_profile(
            self.scores, settings=SETTINGS, covariates=covariates, start=self.profile
        )
        stock = stock_from_profile(self.profile, STOCK)
        if "note" not in stock.descriptors:
            return None
        if self.told:
            stock = _foretold(stock, self.profile, self.made.covariates)
        return known_from(self.profile, self.scores, stock)


def _foretold(stock: Stock, profile: Profile, x: pd.DataFrame) -> Stock:
    """Casks never nosed by the covariates, as the fit has them."""
    fit = profile.fit("note")
    unnosed = np.isnan(stock.estimate[:, 0])
    if fit.reason is not None or not fit.effects or unnosed.all():
        return stock
    names = list(x.columns)
    effect = np.array([fit.effects[name] for name in names])
    at = x.to_numpy() - x.to_numpy()[~unnosed].mean(axis=0)
    level = np.mean(stock.estimate[~unnosed, 0] - at[~unnosed] @ effect)
    known = np.array(fit.effects_covariance)[: len(names), : len(names)]
    own = fit.variances.get(SAMPLE, 0.0) + fit.variances.get(FILLING, 0.0)
    variance = own + np.einsum("ia,ab,ib->i", at, known, at)
    estimate, sd = stock.estimate.copy(), stock.sd.copy()
    estimate[unnosed, 0] = (level + at @ effect)[unnosed]
    sd[unnosed, 0] = np.sqrt(variance[unnosed])
    covariance = np.nan_to_num(sd)[:, :, None] ** 2
    return replace(stock, estimate=estimate, sd=sd, covariance=covariance)


class RawBalanced(Policy):
    """Six casks after another, everybody noses all of them; plain means."""

    name = "raw"
    fits = False

    def trays(self, session: int, people: Sequence[str]) -> dict[str, list[str]]:
        blocks = N_CASKS // SEATS
        rng = np.random.default_rng([self.made.seed, 5, session // blocks])
        block = session % blocks
        mine = rng.permutation(N_CASKS)[block * SEATS : (block + 1) * SEATS]
        return {name: [CASKS[i] for i in mine] for name in people}

    def after(self, session: int) -> Step:
        scores = self.scores
        means = scores[scores["sample"] != REFERENCE].groupby("sample")["score"].mean()
        order = means.reindex(CASKS).fillna(-np.inf).to_numpy()
        chosen = np.argsort(-order, kind="stable")[:BEST]
        return Step(session, self.glasses, regret_of(chosen, self.worth))


class ModelBalanced(RawBalanced):
    """The same sessions; choosing by the fit."""

    name = "model"
    fits = True
    known: Known | None = None

    def after(self, session: int) -> Step:
        self.known = known = self.fit()
        if known is None:
            return self.nothing_known(session)
        margins = margins_of(states_of(known, ["note"]), self.target, BEST)
        return self.step_of(session, known, [margins.states.names[i] for i in margins.order[:BEST]])

    def nothing_known(self, session: int) -> Step:
        """A session after which any casks are as good as others: the first are taken."""
        return Step(session, self.glasses, regret_of(range(BEST), self.worth))

    def step_of(
        self, session: int, known: Known, chosen: Sequence[str], promised: float | None = None
    ) -> Step:
        rows = [CASKS.index(name) for name in chosen]
        place = [known.stock.position[name] for name in chosen]
        mean, sd = known.stock.estimate[place, 0], _whole_sd(known, place)
        off = np.abs(self.made.points(mean) - self.truth[rows]) / (sd * self.made.step)
        step = Step(session, self.glasses, regret_of(rows, self.worth), promised)
        return replace(step, covered=float(np.mean(off < 1.959964)))


def _whole_sd(known: Known, place: Sequence[int]) -> np.ndarray:
    """Standard errors with what all casks share."""
    own = known.stock.sd[list(place), 0]
    found: np.ndarray = np.hypot(own, known.stock.panel_sd.get("note", 0.0))
    return found


class CaskByCask(ModelBalanced):
    """Each session the six casks that are worth most if everybody noses them."""

    name = "cask"

    def trays(self, session: int, people: Sequence[str]) -> dict[str, list[str]]:
        if self.known is None:
            return super().trays(session, people)
        margins = margins_of(states_of(self.known, ["note"]), self.target, BEST)
        panel = self.known.panel(people, ["note"])
        counts = self.known.counts(list(margins.states.names), panel)
        more = (panel.information(counts + 1.0) - panel.information(counts)).sum(axis=(1, 2))
        after = 1.0 / (1.0 / margins.variance + more)
        value = worth(margins.distance, margins.variance, after)
        best = np.argsort(-value, kind="stable")[:SEATS]
        return {name: [margins.states.names[i] for i in best] for name in people}


class Glasses(ModelBalanced):
    """Glass by glass: what the program proposes."""

    name = "ours"
    proposed: NextSession | None = None
    before: NextSession | None = None
    pool = 12

    def room(self, people: Sequence[str]) -> Room:
        return Room(dict.fromkeys(people, SEATS), pool=self.pool, samples={c: c for c in CASKS})

    def trays(self, session: int, people: Sequence[str]) -> dict[str, list[str]]:
        room = self.room(people)
        found = first_session(STOCK, room) if self.proposed is None else self.proposed
        trays: dict[str, list[str]] = {name: [] for name in people}
        for glass in found.glasses:
            if glass.cask is not None:
                trays[glass.assessor].append(glass.cask)
        return trays

    def after(self, session: int) -> Step:
        step = self.made.step
        known = self.fit()
        self.before, self.proposed = self.proposed, None
        if known is None:
            return self.nothing_known(session)
        self.proposed = next_for_target(
            known,
            self.target,
            BEST,
            self.room(self.made.who_comes(session + 1)),
            settings=NextSettings(stop_at=1.0 / step),
        )
        found = self.proposed
        loss = None if found.expected_loss is None else found.expected_loss * step
        return self.step_of(session, known, found.chosen, loss)

    def looked_back(self, step: Step) -> Step:
        """Whether the casks that were looked at crossed the cut."""
        if self.before is None or self.proposed is None:
            return step
        chosen = set(self.proposed.chosen)
        looked = self.before.changes
        return replace(
            step,
            told=tuple(change.crosses for change in looked),
            happened=tuple((change.cask in chosen) != change.chosen for change in looked),
        )


POLICIES: dict[str, type[Policy]] = {
    policy.name: policy for policy in (RawBalanced, ModelBalanced, CaskByCask, Glasses)
}
