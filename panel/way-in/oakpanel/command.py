"""The `oakpanel` command: the one process in which the halves go by names of their own."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from oakpanel import HOME

OWN = ("panel", "analysis", "demo_panel")
"""The names by which the halves and the demo import one another."""


def run() -> None:
    """Put the halves before whatever else is called so, and run the command line."""
    if others := [name for name in OWN if name in sys.modules and not _ours(name)]:
        told = " and ".join(f"`{name}`" for name in others)
        sys.stderr.write(
            f"Something else that is called {told} is loaded in this process already, so the "
            "command cannot start in it. Run `oakpanel` in a process of its own.\n"
        )
        sys.exit(1)
    sys.path.insert(0, str(HOME))
    from panel.cli.main import run as command

    try:
        command()
    finally:
        gc.freeze()  # The process ends: a last sweep of a large stock would only take time.


def _ours(name: str) -> bool:
    lies = getattr(sys.modules[name], "__file__", None)
    return lies is not None and Path(lies).resolve() == HOME / name / "__init__.py"
