"""What one more glass is worth, in closed form.

A cask whose margin is ``m``, known to within ``s``, lies ``d`` from the cut that decides whether
it is chosen. Deciding now costs ``s f(-d/s)`` on average, ``f(z) = phi(z) + z Phi(z)``. A glass
that leaves it known to within ``s'`` moves its mean by ``N(0, st^2)``, ``st^2 = s^2 - s'^2``: by
``st f(-d/st)`` the choice is then better on average. That is the knowledge gradient of one
alternative against the best of the others.
"""

from __future__ import annotations

import numpy as np
import scipy.special

from ..array_types import Floats

_SURE = 1e-12
_FAR = -40.0
_Z = np.linspace(-9.0, 9.0, 3601)


def f(z: Floats) -> Floats:
    """``phi(z) + z Phi(z)``: how much a standard normal is above ``-z`` on average.

    Examples
    --------
    >>> f(np.array([0.0, -30.0])).round(6).tolist()
    [0.398942, 0.0]
    """
    z = np.maximum(z, _FAR)
    density = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
    found: Floats = np.maximum(density + z * scipy.special.ndtr(z), 0.0)
    return found


_LOG_F = np.log(f(_Z))


def distance_of(loss: Floats, sd: Floats) -> Floats:
    """The distance from the cut at which deciding by a normal costs so much.

    Below zero where it costs more than on the cut: the other side was chosen.

    Examples
    --------
    >>> sd = np.array([2.0, 3.0])
    >>> distance_of(loss_of(np.array([1.0, 9.0]), sd), sd).round(2).tolist()
    [1.0, 9.0]
    """
    scale = np.maximum(sd, _SURE)
    share = np.log(np.clip(loss / scale, np.exp(_LOG_F[0]), np.exp(_LOG_F[-1])))
    found: Floats = -scale * np.interp(share, _LOG_F, _Z)
    return found


def loss_of(distance: Floats, sd: Floats) -> Floats:
    """Expected loss of deciding by a mean that lies a distance from the cut.

    Parameters
    ----------
    distance
        From the mean to the cut, not below zero.
    sd
        Of what the mean stands for.

    Examples
    --------
    >>> loss_of(np.array([0.0, 0.0, 3.0]), np.array([2.0, 0.0, 0.0])).round(4).tolist()
    [0.7979, 0.0, 0.0]
    """
    scale = np.maximum(sd, _SURE)
    found: Floats = scale * f(-distance / scale)
    return found


def knowledge_gradient(means: Floats, place: int, sd_of_mean: float) -> float:
    """By how much the best of several means rises when one of them is looked at once more.

    With ``c`` the best of the others, ``d = |m - c|`` and ``t`` the standard deviation by which
    the look moves the mean: ``t f(-d / t)``.

    Parameters
    ----------
    means
        Posterior means of the alternatives, the greatest being the best.
    place
        The one that is looked at.
    sd_of_mean
        Of the change of its mean, ``sqrt(s^2 - s'^2)``.

    References
    ----------
    Frazier, Powell & Dayanik 2009, INFORMS J Comput 21:599, with independent beliefs; the policy
    is that of Gupta & Miescke 1996, J Stat Plan Inference 54:229.

    Examples
    --------
    >>> round(knowledge_gradient(np.array([1.0, 1.0]), 0, 2.0), 6)
    0.797885
    """
    others = np.delete(means, place)
    return float(loss_of(np.abs(means[place] - others.max()), np.array(sd_of_mean)))


def worth(distance: Floats, before: Floats, after: Floats) -> Floats:
    """What is gained by knowing a margin better: the knowledge gradient and the loss that falls.

    Parameters
    ----------
    distance
        From the mean to the cut.
    before, after
        Variance of the margin before and after the glasses.
    """
    moves = np.sqrt(np.maximum(before - after, 0.0))
    now, then = (loss_of(distance, np.sqrt(np.maximum(part, 0.0))) for part in (before, after))
    found: Floats = loss_of(distance, moves) + now - then
    return found
