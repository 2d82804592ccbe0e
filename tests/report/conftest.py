"""Pages are made in the nosed house, by the commands."""

from __future__ import annotations

from tests.release.conftest import begin_with_kept, gauged, house, oakpanel, weighed

__all__ = ["begin_with_kept", "gauged", "house", "oakpanel", "weighed"]
