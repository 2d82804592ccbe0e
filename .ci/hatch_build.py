"""Builds the wheel so that nothing lands on the names `panel` and `analysis` of an environment."""

from __future__ import annotations

from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

WAY_IN = "panel/way-in/oakpanel"


class Wheel(BuildHookInterface):
    """Puts the halves into the one package; an editable install finds them where they lie."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Say under which name each folder goes."""
        if version == "standard":
            build_data["force_include"][WAY_IN] = "oakpanel"
