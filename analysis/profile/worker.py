"""The other end of :mod:`analysis.profile.parallel`: fits what comes in, until nothing does."""

from __future__ import annotations

import os
import pickle
import sys

from .alone import fit_alone


def serve() -> None:
    """Answer each pickled (column, settings) on stdin with its fit on stdout."""
    source = pickle.Unpickler(sys.stdin.buffer)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    sys.stdout = sys.stderr
    while True:
        try:
            column, settings = source.load()
        except EOFError:
            return
        pickle.dump(fit_alone(column, settings), answers, pickle.HIGHEST_PROTOCOL)
        answers.flush()
