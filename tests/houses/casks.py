"""Made-up casks whose truth is known, read with known noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.profile import DescriptorFit, Link, Profile

GIFT = {"barrel": 34.0, "butt": 14.0, "new oak": 42.0}
FADE = {1: 1.0, 2: 0.6, 3: 0.4}
HELD = {"barrel": "bourbon", "butt": "sherry", "new oak": None}
PPM = {"Low": 1.0, "Mid": 12.0, "High": 40.0}
TIME_CONSTANT = 8.0


def given(age_years: np.ndarray, wood: str, fill: int) -> np.ndarray:
    """Points that a wood has given at some age."""
    points: np.ndarray = GIFT[wood] * FADE[fill] * -np.expm1(-age_years / TIME_CONSTANT)
    return points


@dataclass(frozen=True)
class Casks:
    """A stock of casks with one note of wood, one of smoke, one that nothing moves.

    Attributes
    ----------
    woods, fills, makes
        What the casks are of, drawn evenly.
    again
        Share of casks nosed a second time, three to five years on.
    vintage
        Points a year of filling that the wood note owes to the vintage, not to age.
    """

    n: int = 80
    woods: tuple[str, ...] = ("barrel", "butt", "new oak")
    fills: tuple[int, ...] = (1, 2, 3)
    makes: tuple[str, ...] = ("Low", "Mid", "High")
    again: float = 0.4
    noise_sd: float = 3.0
    cask_sd: float = 3.0
    vintage: float = 0.0
    ages: tuple[float, float] = (3.0, 15.0)

    def draws(self, seed: int = 1) -> pd.DataFrame:
        """One row a draw, with the truth of the three notes in columns of their own."""
        rng = np.random.default_rng(seed)
        rows = [row for c in range(self.n) for row in self._cask(c, rng)]
        return pd.DataFrame(rows)

    def _cask(self, c: int, rng: np.random.Generator) -> list[dict[str, object]]:
        wood, make = str(rng.choice(self.woods)), str(rng.choice(self.makes))
        fill, house = int(rng.choice(self.fills)), str(rng.choice(["Loft", "Shed"]))
        first = rng.uniform(*self.ages)
        ages = [first, first + rng.uniform(3.0, 5.0)] if rng.random() < self.again else [first]
        own, strength = rng.normal(0.0, self.cask_sd, 3), rng.uniform(60.0, 66.0)
        filled = int(2024 - first)
        found: list[dict[str, object]] = []
        for i, age in enumerate(ages):
            wood_note = 8 + own[0] + float(given(np.array([age]), wood, fill)[0])
            found.append(
                {
                    **{"sample": f"c{c}-{i + 1}", "cask": f"c{c}", "filling": f"c{c}/1"},
                    **{"wood": wood, "fill_number": fill, "age_years": age},
                    **{"phenol_ppm": PPM[make], "fill_abv": strength, "make": make},
                    **{"previous": HELD[wood], "warehouse": house, "batch": f"{make} {filled}"},
                    "custard": wood_note + self.vintage * first,
                    "smoke": 2 + own[1] + 60 * (PPM[make] / 40) ** 0.5 * 2 ** (-age / 20),
                    "slate": 30 + own[2],
                }
            )
        return found

    def readings(self, draws: pd.DataFrame, seed: int = 2) -> pd.DataFrame:
        """What was read of the draws."""
        rng = np.random.default_rng(seed)
        long = draws.melt("sample", ["custard", "smoke", "slate"], "descriptor", "truth")
        noise = rng.normal(0.0, self.noise_sd, len(long))
        return pd.DataFrame(
            {
                "sample": long["sample"],
                "descriptor": long["descriptor"],
                "reading": long["truth"] + noise,
                "noise_variance": self.noise_sd**2,
            }
        )


def profile_of(draws: pd.DataFrame, readings: pd.DataFrame, spread: float = 150.0) -> Profile:
    """The profile that such readings would give: drawn towards the mean by their noise."""
    names = sorted(set(readings["descriptor"]))
    frame = readings.merge(draws[["sample", "cask", "filling", "age_years"]], on="sample")
    mean = frame.groupby("descriptor")["reading"].transform("mean")
    share = spread / (spread + frame["noise_variance"])
    frame["estimate"] = (mean + share * (frame["reading"] - mean)).clip(0.0, 100.0)
    frame["se"] = np.sqrt(spread * (1.0 - share))
    frame["kind"], frame["n_scores"], frame["n_sessions"] = "test", 8, 1
    frame["component"], frame["reason"], frame["raw_mean"] = 0, None, frame["reading"]
    frame["drawn_on"] = frame["last_nosed"] = pd.Series(pd.NaT, index=frame.index)
    fits = tuple(
        DescriptorFit(name, len(draws), {"sample": spread}, 9.0, 0.0, {}, ("A", "B"))
        for name in names
    )
    link = Link(("S1",), tuple(draws["sample"]))
    return Profile(frame, fits, (link,), None, len(frame), {})
