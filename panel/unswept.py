"""Reading very many values at once without memory sweeps."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def unswept() -> Iterator[None]:
    """Put off the search for unreachable cycles while very many values are made.

    A sweep looks at every value there is and stops all threads meanwhile: it took a third of the
    time of a list of 24,000 casks, of a load of a million cells, and the desk stood still for it.
    Plain values are freed as ever.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
