"""Oakpanel by its one name on the index: `import oakpanel` gives `oakpanel.analysis`.

A wheel holds the halves inside this package, so that nothing of ours lies under `panel` or
`analysis`, which others are called as well. Importing it touches neither those names nor
`sys.path`; only the command's own process does (:mod:`oakpanel.command`).
"""

from importlib import import_module
from pathlib import Path

HOME = Path(__file__).resolve().parent
"""The folder in which the halves lie."""
if not (HOME / "analysis").is_dir():
    HOME = HOME.parents[2]
    __path__.append(str(HOME))  # in a checkout they lie at its top

analysis = import_module(f"{__name__}.analysis")
