"""Which proposed release is a planned one: by plan and name, or by name and target by hand."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.store.releases import Release

FROM_PLAN = "from_plan"
"""The key under which what was foretold at a proposal has the plan that it was proposed from."""


def plan_of(release: Release) -> str | None:
    """Return the plan that a release was proposed from; None where by hand, or long ago."""
    found = json.loads(release.predicted_json or "{}").get(FROM_PLAN)
    return found if isinstance(found, str) else None


def is_planned_in(release: Release, plan: str, target: str | None) -> bool:
    """Whether a release is that of its name in a plan, which has it for a target."""
    own = plan_of(release)
    if own is not None:
        return own == plan
    return release.target is None or release.target.name == target


def taken_words(release: Release) -> str:
    """Say whose a release's name is by now."""
    own = plan_of(release)
    of = f" of plan {own}" if own is not None else ""
    target = f" for target {release.target.name}" if release.target is not None else ""
    return f"{release.name} is the name of another release{of}{target}, {release.status.value}"
