"""The stock as of a day: what it costs at full size, and how often its words are right.

    python -m tests.bench.bench_stock [size|words|cover]

`size`: 24,000 casks, all nosed on 12 notes: seconds of match and of a vatting from the casks as
they were nosed, from the casks moved to a day, and the ratio of the two; the fit of the models is
told by itself, since a screen keeps it with its profile; a profile of such a house takes far
longer than either.

`words`: "nosed N years ago: decides" over made-up houses. What has become of the notes since the
draw is made known: how often it is said where that moves the chance by less than a tenth, and
where it moves it by three tenths.

`cover`: made-up casks moved 1 to 6 years on: how often the truth lies in the 90 % band, moved and
as it was nosed, and what both are off by.
"""

from __future__ import annotations

import os
import sys
from datetime import date
from time import process_time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pandas as pd

from analysis.ageing import NotesOnDay, deciding_casks, notes_on_day
from analysis.profile import DescriptorFit, Link, Profile
from analysis.profile.posterior import Posterior
from analysis.target import Target, TargetLine, chance_of_lines, match_casks
from analysis.vatting import Limits, MixingRule, plan_vatting, stock_from_profile
from tests.houses.casks import FADE, GIFT, PPM, Casks, given, profile_of

DAY = date(2026, 11, 25)
CASKS, NOTES = 24_000, 12
NAMES = tuple(f"note {k:02d}" for k in range(NOTES))
MOVED_BY = 0.2
NOSED = ("custard", "smoke")


def large_house(n: int, seed: int = 1) -> tuple[Profile, pd.DataFrame, pd.DataFrame]:
    """A profile of so many casks without its scores, their draws, and the casks on the day."""
    rng = np.random.default_rng(seed)
    woods, makes = list(GIFT), list(PPM)
    draws = pd.DataFrame(
        {
            "cask": [f"C{i:05d}" for i in range(n)],
            "wood": rng.choice(woods, n),
            "fill_number": rng.integers(1, 4, n),
            "age_years": rng.uniform(4.0, 18.0, n),
            "make": rng.choice(makes, n),
            "fill_abv": rng.uniform(60.0, 66.0, n),
            "warehouse": rng.choice(["Loft", "Shed"], n),
        }
    )
    draws["sample"] = draws["filling"] = draws["cask"]
    draws["phenol_ppm"] = draws["make"].map(PPM)
    years = rng.uniform(0.2, 5.0, n)
    draws["drawn_on"] = pd.Timestamp(DAY) - pd.to_timedelta((years * 365.25).astype(int), "D")
    filled = (2026 - draws["age_years"] - years).astype(int).astype(str)
    draws["batch"] = draws["make"] + " " + filled
    gift = draws["wood"].map(GIFT) * draws["fill_number"].map(FADE)
    grown = gift * -np.expm1(-draws["age_years"] / 8.0)
    smoke = 60.0 * np.sqrt(draws["phenol_ppm"] / 40.0) * 2.0 ** (-draws["age_years"] / 20.0)
    share = rng.uniform(0.2, 1.0, NOTES)
    mean = np.column_stack([10.0 + w * grown + (1.0 - w) * smoke for w in share])
    mean = mean + rng.normal(0.0, 4.0, mean.shape)
    own = np.broadcast_to(4.0 * np.eye(NOTES) + 0.5, (n, NOTES, NOTES)).copy()
    between = np.diag(mean.var(axis=0))
    held = Posterior(tuple(draws["sample"]), NAMES, mean, own, np.full(NOTES, 0.3), between, 1.0)
    rows = pd.DataFrame(
        {
            "sample": np.repeat(draws["sample"].to_numpy(), NOTES),
            "cask": np.repeat(draws["cask"].to_numpy(), NOTES),
            "filling": np.repeat(draws["filling"].to_numpy(), NOTES),
            "drawn_on": np.repeat(draws["drawn_on"].to_numpy(), NOTES),
            "age_years": np.repeat(draws["age_years"].to_numpy(), NOTES),
            "descriptor": np.tile(np.array(NAMES, dtype=object), n),
            "estimate": mean.clip(0.0, 100.0).ravel(),
            "se": np.sqrt(4.5 + 0.3),
        }
    )
    rows = rows.assign(kind="test", n_scores=12, n_sessions=1, component=0, reason=None)
    rows["raw_mean"], rows["last_nosed"] = rows["estimate"], rows["drawn_on"]
    fits = tuple(
        DescriptorFit(name, 12 * n, {"sample": float(v)}, 9.0, 0.0, {}, ("A", "B"), inflation=1.0)
        for name, v in zip(NAMES, np.diag(between), strict=True)
    )
    profile = Profile(
        rows, fits, (Link(("S1",), held.samples),), DAY, len(rows), {}, posterior=held
    )
    stock = draws.drop(columns="drawn_on").assign(age_years=draws["age_years"] + years)
    return profile, draws, stock


def size(n: int = CASKS) -> bool:
    profile, draws, stock = large_house(n)
    middle = profile.estimates.groupby("descriptor")["estimate"].median()
    target = Target("T", tuple(TargetLine(name, float(middle[name]), 8.0) for name in NAMES))
    began = process_time()
    first = notes_on_day(profile, draws, stock, DAY, descriptors=NAMES)
    both = process_time() - began
    began = process_time()
    notes = notes_on_day(profile, draws, stock, DAY, descriptors=NAMES, fits=first.moves.fits)
    move = process_time() - began
    print(f"{n:,} casks x {NOTES} notes, processor seconds")
    print(f"models of ageing (kept with the profile) {both - move:.2f}, the move {move:.2f}")
    casks = stock.assign(abv=58.0, bulk_l=180.0, status="filled")
    limits = Limits(bottles=6000, abv_percent=46.0, age_statement_years=8)
    met = True
    for name, ask in (
        ("match", lambda known: match_casks(known, target, casks=casks)),
        ("vat", lambda known: _vat(known, target, casks, limits)),
    ):
        took = []
        for known in (profile, notes.profile):
            began = process_time()
            ask(known)
            took.append(process_time() - began)
        again, at_first = took[1] / took[0], (took[1] + move) / took[0]
        met &= again <= 1.3
        print(
            f"{name}: as nosed {took[0]:.2f}, as of the day {took[1]:.2f}: ratio {again:.2f} with "
            f"what is kept, {at_first:.2f} with the move"
        )
    return met


def _vat(profile: Profile, target: Target, casks: pd.DataFrame, limits: Limits) -> None:
    stock = stock_from_profile(profile, casks, as_of=DAY)
    plan_vatting(stock, target, limits, MixingRule(), in_full=True)


def house_on(seed: int, years: float) -> tuple[NotesOnDay, Profile, pd.DataFrame, pd.DataFrame]:
    """A made-up house so many years after its draws, with the truth of the day and as nosed."""
    made = Casks(n=120, noise_sd=2.0)
    draws = made.draws(seed)
    profile = profile_of(draws, made.readings(draws, seed + 1000))
    last = draws.drop_duplicates("filling", keep="last").reset_index(drop=True)
    then = last.copy()
    rng = np.random.default_rng(seed)
    for i, row in last.iterrows():
        ages = np.array([row["age_years"], row["age_years"] + years])
        less, more = given(ages, str(row["wood"]), int(row["fill_number"]))
        lively = rng.lognormal(0.0, 0.2)
        then.loc[i, "custard"] = row["custard"] + lively * (more - less)
        peat = 60.0 * (row["phenol_ppm"] / 40.0) ** 0.5
        faded = 2.0 ** (-ages / 20.0)
        then.loc[i, "smoke"] = row["smoke"] + lively * peat * (faded[1] - faded[0])
    then["age_years"] = last["age_years"] + years
    stock = then.assign(sample=then["filling"])
    found = notes_on_day(profile, draws, stock, DAY, descriptors=("custard", "smoke"))
    return found, profile, stock.set_index("filling"), last.set_index("filling")


def cover(n_worlds: int = 30) -> bool:
    print(
        f"{'years':>5}{'note':>9}{'moved: covers':>15}{'off':>7}{'as nosed: covers':>18}{'off':>7}"
    )
    met = True
    for years in (1.0, 2.0, 4.0, 6.0):
        rows: dict[str, list[np.ndarray]] = {}
        for seed in range(n_worlds):
            found, profile, truth, _ = house_on(seed, years)
            latest = {each.sample for each in found.moved.values()}
            for how, known in (("moved", found.profile), ("nosed", profile)):
                e = known.estimates[known.estimates["sample"].isin(latest)]
                for note in ("custard", "smoke"):
                    mine = e[e["descriptor"] == note].set_index("filling")
                    off = mine["estimate"] - truth.loc[mine.index, note]
                    inside = off.abs() < 1.645 * mine["se"]
                    rows.setdefault(f"{how} {note}", []).append(
                        np.column_stack([inside, off]).astype(float)
                    )
        for note in ("custard", "smoke"):
            moved, nosed = (np.concatenate(rows[f"{how} {note}"]) for how in ("moved", "nosed"))
            met &= 0.85 <= moved[:, 0].mean() <= 0.97
            print(
                f"{years:>5.0f}{note:>9}{moved[:, 0].mean():>15.3f}{moved[:, 1].mean():>7.2f}"
                f"{nosed[:, 0].mean():>18.3f}{nosed[:, 1].mean():>7.2f}"
            )
    return met


def words(n_worlds: int = 60) -> bool:
    """How often a draw is said to decide, where it does and where it does not."""
    said, rows = [], []
    for seed in range(n_worlds):
        years = float(np.random.default_rng(seed).uniform(1.0, 6.0))
        found, _, truth, last = house_on(seed, years)
        rng = np.random.default_rng(seed + 5)
        fillings = list(found.moved)
        aims = truth.loc[fillings, ["custard", "smoke"]].to_numpy(float)
        aim = aims[int(rng.integers(len(fillings)))]
        lines = tuple(TargetLine(d, float(v), 6.0) for d, v in zip(NOSED, aim, strict=True))
        target = Target("T", lines)
        places = [found.places[name] for name in fillings]
        ages = found.moves.casks["age_years"].to_numpy(float)[places][:, None]
        then = found.moves.at(ages, places)
        common = np.diag(found.moves.base.common)
        mean, own = then.mean[:, 0], then.own[:, 0]
        chance = chance_of_lines(target, mean, own + common)
        drawn = [each.sample for each in found.moved.values()]
        said.append(deciding_casks(found, target, fillings, chance, drawn))
        base = found.moves.base
        nosed, nosed_own = base.mean[places], base.own[places] + common
        as_nosed = chance_of_lines(target, nosed, nosed_own)
        # What became of its notes since is made known, and nothing else.
        first = last.loc[fillings, list(NOSED)].to_numpy(float)
        true = truth.loc[fillings, list(NOSED)].to_numpy(float)
        known = chance_of_lines(target, nosed + true - first, nosed_own)
        inside = (np.abs(true - aim) <= 6.0).all(axis=1).astype(float)
        rows.append(np.column_stack([np.abs(known - as_nosed), chance, as_nosed, inside]))
    told, table = np.concatenate(said), np.concatenate(rows)
    went, chance, as_nosed, inside = table.T
    print(f"{len(told):,} casks a target, 1 to 6 years after the draw; said of {told.mean():.3f}")
    false = float((went[told] < 0.1).mean())
    power = float(told[went >= 0.3].mean())
    print(f"false (what became of it moves the chance by less than .1): {false:.3f} of those said")
    print(f"found, where it moves the chance by .3 or more: {power:.3f}")
    print(
        "off the truth (mean square), where it is said: as nosed "
        f"{((as_nosed - inside)[told] ** 2).mean():.3f}, moved "
        f"{((chance - inside)[told] ** 2).mean():.3f}"
    )
    return false <= 0.1 and power >= 0.6


def main(what: str) -> int:
    asked = {"size": size, "words": words, "cover": cover}
    met = [ask() for name, ask in asked.items() if what in {name, "all"}]
    print("met" if all(met) else "NOT MET")
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "all"))
