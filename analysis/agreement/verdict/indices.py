"""Which index answers which question."""

from __future__ import annotations

from collections.abc import Mapping

ICC_QUESTIONS: Mapping[str, str] = {
    "1,1": "could any one assessor stand for the panel, if each sample had other assessors",
    "2,1": "could one assessor stand in for another, offsets and all",
    "3,1": "does one of these assessors order and space the samples as the others do",
    "1,k": "how sound is the panel mean, if each sample had other assessors",
    "2,k": "would another panel of this size give the same means, offsets and all",
    "3,k": "would these assessors order and space the samples so again; offsets do not matter",
}
"""Of the six intraclass correlations; for casks ranked in one session ``3,k`` is the one."""
