"""How long the whole agreement of a big session takes, beside two reference libraries.

Run: .venv/bin/python -m tests.bench.bench_agreement_speed
     (`.venv/bin/pip install pingouin` first for its half; statsmodels comes with the test extra)

12 assessors by 24 samples by 3 replicates by 20 descriptors, made up, everything with 999
permutations and 999 redrawn panels. The other libraries answer the part of it they can, on the
same numbers; their answers are laid beside ours. Times are of this machine while it runs.
"""

from __future__ import annotations

import importlib
import time
import warnings
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from analysis.agreement import Agreement, AgreementSettings, assess_agreement
from analysis.agreement.indices.crossed import CrossedDesign
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.reml import fit_reml
from analysis.agreement.own_words import assess_own_words
from tests.houses.worlds import Evening

ROUNDS = 3
ALLOWED_S = 3.0
PINGOUIN_FORMS = {
    "1,1": ("ICC(1,1)", "ICC1"),
    "2,1": ("ICC(A,1)", "ICC2"),
    "3,1": ("ICC(C,1)", "ICC3"),
    "1,k": ("ICC(1,k)", "ICC1k"),
    "2,k": ("ICC(A,k)", "ICC2k"),
    "3,k": ("ICC(C,k)", "ICC3k"),
}
"""How its versions name the six."""


def timed(task: Callable[[], Any]) -> tuple[Any, float]:
    """The answer and the seconds it took."""
    started = time.perf_counter()
    answer = task()
    return answer, time.perf_counter() - started


def session(*, missing: float = 0.0) -> pd.DataFrame:
    """The scores, some glasses missing."""
    evening = Evening(n_assessors=12, n_samples=24, n_notes=20, replicates=3)
    scores = evening.scores(3)
    if not missing:
        return scores
    glasses = scores.groupby(["assessor", "sample", "replicate"], sort=False).ngroup()
    gone = np.random.default_rng(5).random(int(glasses.max()) + 1) < missing
    return scores[~gone[glasses]]


def ours() -> Agreement:
    """Time our own, complete and with holes."""
    settings = AgreementSettings(permutations=999, bootstraps=999)
    assess_agreement(Evening(n_notes=1).scores(), settings=settings)
    whole = session()
    for label, scores in (
        ("complete", whole),
        ("a fifth of the glasses missing", session(missing=0.2)),
    ):
        taken = [
            timed(partial(assess_agreement, scores, settings=settings))[1] for _ in range(ROUNDS)
        ]
        verdict = "within" if min(taken) < ALLOWED_S else "OVER"
        print(
            f"agreement, {label}: {min(taken):.2f} s best of {ROUNDS} ({verdict} {ALLOWED_S:g} s)"
        )
    words = whole.rename(columns={"descriptor": "word"})
    _, seconds = timed(lambda: assess_own_words(words, settings=settings))
    print(f"the same 20 columns taken as own words: {seconds:.2f} s")
    return assess_agreement(whole, settings=settings)


def beside_statsmodels(found: Agreement) -> None:
    """REML of one descriptor by statsmodels' mixed model."""
    mixed = importlib.import_module("statsmodels.regression.mixed_linear_model")
    scores = session()
    name = found.descriptors[0].descriptor
    layout = ScoreLayout.of(scores[scores["descriptor"] == name])
    fixed = np.eye(layout.n_samples)[layout.sample]
    factors = {"assessor": layout.assessor, "interaction": layout.cell}

    def theirs() -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it warns of its own convergence checks
            parts = {key: {1.0: np.eye(int(v.max()) + 1)[v]} for key, v in factors.items()}
            model = mixed.MixedLM(
                layout.score, fixed, groups=np.ones(len(layout.score)), exog_vc=parts
            )
            return model.fit(reml=True, method="lbfgs")

    peer, seconds = timed(theirs)
    fit, own = timed(lambda: fit_reml(CrossedDesign(fixed, factors), layout.score))
    print(f"\nREML of one descriptor: statsmodels {seconds:.1f} s, here {1000 * own:.0f} ms")
    print(f"  log-likelihood {peer.llf:.4f} theirs, {fit.log_likelihood:.4f} ours")
    for key, theirs_part in zip(sorted(factors), peer.vcomp, strict=True):
        print(f"  {key}: {theirs_part:.4f} theirs, {fit.components[key]:.4f} ours")
    print(f"  residual: {peer.scale:.4f} theirs, {fit.residual:.4f} ours")


def beside_pingouin(found: Agreement) -> None:
    """Intraclass correlations and Friedman of all descriptors by pingouin."""
    try:
        pingouin = importlib.import_module("pingouin")
    except ModuleNotFoundError:
        print("\npingouin is not installed: `.venv/bin/pip install pingouin` for its half")
        return
    keys = ["descriptor", "assessor", "sample"]
    means = session().groupby(keys, as_index=False)["score"].mean()

    def theirs() -> dict[str, tuple[Mapping[str, float], float]]:
        answers = {}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for name, rows in means.groupby("descriptor"):
                icc = pingouin.intraclass_corr(
                    data=rows, targets="sample", raters="assessor", ratings="score"
                ).set_index("Type")["ICC"]
                friedman = pingouin.friedman(
                    data=rows, dv="score", within="sample", subject="assessor"
                )
                answers[str(name)] = (icc.to_dict(), float(friedman["W"].iloc[0]))
        return answers

    peer, seconds = timed(theirs)
    print(f"\nICC and Friedman of {len(peer)} descriptors: pingouin {seconds:.2f} s")
    furthest = 0.0
    for name, (icc, w) in peer.items():
        note = found.descriptor(name)
        furthest = max(furthest, abs(w - (note.kendall_w or 0.0)))
        for form, names in PINGOUIN_FORMS.items():
            key = names[0] if names[0] in icc else names[1]
            furthest = max(furthest, abs(icc[key] - (note.icc or {})[form]))
    print(f"  largest difference from ours over six forms and W: {furthest:.1e}")


def main() -> None:
    """Run everything."""
    found = ours()
    beside_pingouin(found)
    beside_statsmodels(found)


if __name__ == "__main__":
    main()
