"""What a profile is made of."""

from __future__ import annotations

from dataclasses import dataclass

from ..score_statuses import USED


@dataclass(frozen=True)
class ProfileSettings:
    """Settings of a profile.

    Attributes
    ----------
    standing_panel
        The assessors whose mean score is estimated; by default all who scored. An estimate is
        on the line of these people, so changing the panel moves every figure a little.
    keep
        The statuses of scores that are used.
    equal_scale
        Give all assessors the same scale. By default each has his own, drawn from
        N(1, `scale_sd`^2), the mean over the standing panel being 1.
    equal_noise
        Give all assessors, at all levels, the same noise.
    degrees
        Degrees of freedom of the Student distribution that slips are allowed for with; None
        takes every score at its word.
    scale_sd
        Spread of the assessors' scales before any score is seen.
    noise_weight
        How many scores' worth of the common noise each assessor's own is mixed with.
    noise_levels
        Number of bins, from low to high samples, with a noise of their own.
    fixed_samples
        Shrink nothing: each sample is what its scores say. For comparing with other programs.
    inflate
        Widen the standard errors where samples that are left out are predicted worse than the
        model claims.
    joint
        Let the descriptors of a sample inform each other.
    ends_of_the_line
        Read scores at an end of the line as no more than beyond it where many lie there (see
        :mod:`analysis.profile.ends`). The plain model and fixed samples take every score at its
        word.
    order
        Terms for the place on the tray and the smoke of the glass before, where places are on
        record, drawn to nothing (see :mod:`analysis.profile.serving`). The plain model and fixed
        samples have none.
    processes
        Most processes to fit the descriptors in; by default as many as there are processors,
        one where the data are few.
    """

    standing_panel: tuple[str, ...] | None = None
    keep: tuple[str, ...] = USED
    equal_scale: bool = False
    equal_noise: bool = False
    degrees: float | None = 4.0
    scale_sd: float = 0.3
    noise_weight: float = 8.0
    noise_levels: int = 3
    fixed_samples: bool = False
    inflate: bool = True
    joint: bool = True
    ends_of_the_line: bool = True
    order: bool = True
    processes: int | None = None

    @property
    def plain(self) -> bool:
        """Whether the model is the classical one: equal scales, equal noise, no slips."""
        return self.equal_scale and self.equal_noise and self.degrees is None
