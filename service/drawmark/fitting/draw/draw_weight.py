"""Draw weight at an archer's draw, and how it changes with the draw."""

from __future__ import annotations

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, maximum, where
from drawmark.fitting.columns import minimum as smaller
from drawmark.fitting.model import Bow


def draw_weights_of(
    bow: Bow, draw: Real, longest: Real, since: Real = 0.0
) -> tuple[Real | None, Real | None]:
    """Give the least and the greatest draw weight at an archer's draw.

    Parameters
    ----------
    bow : Bow
        With its kind, its draw weight [N] and the basis of that.
    draw, longest : float or column
        Draw to the pivot point, and the longest that it may be [m].
    since : float or column
        How much longer the archer's own draw may be than when the weight was measured [m].

    Returns
    -------
    tuple of float, column or None
        Draw weights [N]: the same but for a weight measured at 28 in, which changes by a range of
        the trade's rule for each inch, or one at a draw that has grown since. A compound's weight
        is its peak and does not depend on the draw.

    References
    ----------
    .. [1] force-per-inch
    """
    weight = bow.draw_weight
    if weight is None or bow.kind == "compound":
        return weight, weight
    gradients = force_gradients(weight)
    if bow.draw_weight_basis != "at_28":
        return weight, weight + since * gradients[1]
    least, most = (
        [
            weight + gradient * (at + limits.STANDARD_OFFSET - limits.RATED_DRAW)
            for gradient in gradients
        ]
        for at in (draw, longest)
    )
    floor = weight * limits.LEAST_WEIGHT_SHARE
    return maximum(smaller(*least), floor), maximum(maximum(*most), floor)


def force_gradients(weight: Real) -> tuple[Real, Real]:
    """Give the least and the greatest change of draw weight with the draw.

    Parameters
    ----------
    weight : float or column
        Draw weight [N].

    Returns
    -------
    tuple of float or column
        Change of the draw weight [N/m].

    References
    ----------
    .. [1] force-per-inch
    .. [2] project-margin
    """
    strong = weight >= limits.STRONG_BOW
    pairs = zip(limits.FORCE_PER_INCH, limits.WEIGHT_PER_FORCE_GRADIENT, strict=True)
    low, high = (where(strong, strongs, weight / draw) for strongs, draw in pairs)
    return low, high
