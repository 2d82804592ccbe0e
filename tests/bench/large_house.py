"""A house of 25,300 casks that grew out of the invented distillery, from a seed.

A hundred times its casks, fifteen times thirty of its sessions, with the same people and the same
references: 450 sessions, 2,300 draws and 283,000 scores. Each copy of a draw is a draw of its own,
shifted from its model note by note; scores of 0 mostly stay 0.

In the plain house a cask that came back came back within its own copy, so its sessions fall into
fifteen parts that only the references tie. `dealt` gives that share of the draws that were nosed
twice, and of the fillings that were drawn from twice, their second visit in another copy: with 1
all sessions hang together in one web.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd

import demo_panel

ABOUT = ["session", "held_on", "assessor", "sample", "kind", "replicate", "position", "status"]
KINDS = ("makes", "casks", "events", "regauges", "draws", "lexicon", "assessors", "targets")
_FILES = Path(demo_panel.__file__).parent
_OWN, _NOISE, _STAYS_ZERO = 6.0, 4.0, 0.9


@dataclass(frozen=True)
class LargeHouse:
    """What is in its files.

    Attributes
    ----------
    copies
        Of the sessions; `cask_copies` of the casks.
    dealt
        Share of the second visits that go to another copy.
    """

    seed: int = 1
    copies: int = 15
    cask_copies: int = 100
    n_sessions: int = 30
    dealt: float = 0.0

    @cached_property
    def notes(self) -> list[str]:
        """Names of the descriptors."""
        lexicon = pd.read_csv(_FILES / "lexicon.csv")
        return [str(name) for name in lexicon["descriptor"]]

    @cached_property
    def model(self) -> pd.DataFrame:
        """The glasses that are copied."""
        wide = pd.read_csv(_FILES / "scores.csv")
        wide = wide[[*ABOUT, *(name for name in self.notes if name in wide.columns)]]
        return wide[wide["session"].isin(wide["session"].unique()[: self.n_sessions])]

    def wide(self) -> pd.DataFrame:
        """All glasses as `load scores` reads them."""
        rng = np.random.default_rng((self.seed, 1))
        return pd.concat(self._dealt([self._copy(k, rng) for k in range(self.copies)]))

    def frame(self) -> pd.DataFrame:
        """The same as a scores frame; empty cells are no scores."""
        wide = self.wide()
        names = [name for name in self.notes if name in wide.columns]
        long = wide.melt(ABOUT, names, "descriptor", "score").dropna(subset="score")
        filling = self.draws().set_index("sample")["filling"]
        long["filling"] = long["sample"].map(filling)
        long["held_on"] = pd.to_datetime(long["held_on"])
        return long.reset_index(drop=True)

    def draws(self) -> pd.DataFrame:
        """Its draws, second ones of a filling dealt like second visits."""
        model = pd.read_csv(_FILES / "draws.csv")
        nosed = set(self.model["sample"])
        model = model[model["sample"].isin(nosed)]
        casks = model["kind"] == "cask"
        later = set(model[casks & model.duplicated("filling")]["sample"])
        rng = np.random.default_rng((self.seed, 2))
        parts = [model[~casks]]
        moved = {name: self._to_others(rng) for name in sorted(later)}
        for k in range(self.copies):
            own = model[casks].copy()
            copy = [moved[name][k] if name in moved else k for name in own["sample"]]
            of = zip(own["filling"], copy, strict=True)
            own["filling"] = [_named(name, c) for name, c in of]
            own["sample"] = [f"{name}x{k:02d}" for name in own["sample"]]
            parts.append(own)
        return pd.concat(parts)

    def write(self, folder: Path) -> None:
        """Write the plain files that `load` reads."""
        for kind in ("makes", "lexicon", "assessors", "targets"):
            (folder / f"{kind}.csv").write_bytes((_FILES / f"{kind}.csv").read_bytes())
        for kind, columns in (("casks", ("cask", "filling")), ("regauges", ("filling",))):
            self._records(kind, columns).to_csv(folder / f"{kind}.csv", index=False)
        events = self._records("events", ("filling", "parent"))
        events.to_csv(folder / "events.csv", index=False)
        self.draws().to_csv(folder / "draws.csv", index=False)
        self.wide().to_csv(folder / "scores.csv", index=False)

    def _records(self, kind: str, columns: tuple[str, ...]) -> pd.DataFrame:
        model = pd.read_csv(_FILES / f"{kind}.csv", dtype=str)
        parts = []
        for k in range(self.cask_copies):
            part = model.copy()
            for name in columns:
                part[name] = [v if pd.isna(v) else _named(str(v), k) for v in part[name]]
            parts.append(part)
        return pd.concat(parts)

    def _copy(self, k: int, rng: np.random.Generator) -> pd.DataFrame:
        found = self.model.copy()
        codes, samples = pd.factorize(found["sample"])
        for name in found.columns[len(ABOUT) :]:
            score = found[name].to_numpy(float)
            shift = rng.normal(0.0, _OWN, len(samples))[codes] + rng.normal(0.0, _NOISE, len(score))
            own = np.clip(np.round(score + shift), 0.0, 100.0)
            stays = (score == 0.0) & (rng.random(len(score)) < _STAYS_ZERO)
            found[name] = np.where(stays, 0.0, own)
        found["session"] = [f"{name}x{k:02d}" for name in found["session"]]
        cask = found["kind"] != "reference"
        names = [f"{name}x{k:02d}" for name in found["sample"]]
        return found.assign(sample=np.where(cask, names, found["sample"]))

    def _dealt(self, parts: list[pd.DataFrame]) -> list[pd.DataFrame]:
        """Give second visits to the same draw of another copy, here and there."""
        rng = np.random.default_rng((self.seed, 3))
        tests = self.model[self.model["kind"] != "reference"]
        visits = tests.groupby("sample")["session"].unique()
        for sample, sessions in visits[visits.map(len) == 2].items():
            to = self._to_others(rng)
            for k, part in enumerate(parts):
                here = part["session"] == f"{sessions[1]}x{k:02d}"
                mine = here & (part["sample"] == f"{sample}x{k:02d}")
                part.loc[mine, "sample"] = f"{sample}x{to[k]:02d}"
        return parts

    def _to_others(self, rng: np.random.Generator) -> list[int]:
        """Which copy each copy's second visit goes to."""
        dealt = rng.random() < self.dealt
        found: list[int] = rng.permutation(self.copies).tolist()
        return found if dealt else list(range(self.copies))


def _named(name: str, copy: int) -> str:
    """The name of a cask or filling in a copy: ``SW0801/1`` is ``SW0801x03/1``."""
    cask, slash, filling = name.partition("/")
    return f"{cask}x{copy:02d}{slash}{filling}"
