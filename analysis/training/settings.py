"""What the house asks of a person in training, with its reason."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TrainingSettings:
    """House defaults, none of them from a standard.

    Attributes
    ----------
    least_exercises
        Nobody is called ready by fewer. A lead looks after every exercise, and each look is a
        chance to be wrong: from so many on the word is said at any of eight exercises of somebody
        who does not smell in under .05 of trainings (`tests/bench/words_training.py`).
    least_samples
        Different samples in them. With the same few again and again one lasting opinion of each is
        right by chance as often as once, however often it is asked for.
    """

    least_exercises: int = 4
    least_samples: int = 24
