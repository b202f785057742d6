"""Depth against time in a tray that tires, and the time to lift and gauge."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.units import MINUTE, ONE, Quantity, share_of


@formula(source="first_order_tiring")
def load_share(*, ferric_used, ferric_in_bath, practical_stop):
    """Return the share of the ferric left that one filling uses, which is refreshed at the stop."""
    return np.minimum(ferric_used / ferric_in_bath, practical_stop)


@formula(
    source="first_order_tiring",
    method="share used / −ln(1 − share used), as the rate falls with the ferric left; 1 where "
    "nothing is used",
)
def tiring(*, load_share):
    """Return the mean rate over the fresh one while a share of the ferric is used up.

    First order in the ferric left: the time to use up the share s is
    −ln(1 − s)/s of the time at the fresh rate.
    """
    share = np.maximum(load_share.to(ONE).magnitude, 1e-9)
    return Quantity(share / -np.log1p(-share), ONE)


@formula(source="first_order_tiring")
def etch_rate(*, fresh_rate, tiring):
    """Return the mean rate over the depth in a bath that tires."""
    return fresh_rate * tiring


@formula(source="geometry")
def etch_time(*, depth, etch_rate):
    """Return the time to a depth at its mean rate."""
    return depth / etch_rate


@formula(source="geometry")
def bench_time(*, etch_time, look_interval, look_pause):
    """Return the time on the clock: the plate does not etch while it is rinsed and looked at."""
    return etch_time + np.floor((etch_time / look_interval).to(ONE)) * look_pause


@formula(source="geometry")
def field_depth(*, etch_time, field_rate):
    """Return how deep a wide field is when the finest line is done."""
    return etch_time * field_rate


@formula(source="geometry")
def gauge_depth(*, depth, depth_allowance):
    """Return the depth that is just not too deep."""
    return depth + depth_allowance


@formula(
    source="first_order_chance",
    method="the time by which the accepted chance, of all the ways in which the job may run, is "
    "deeper than ordered and its allowance",
)
def gauge_time(*, too_deep_time, chance_too_deep):
    """Return the time to lift and gauge, so early that the line is hardly too deep already.

    Parameters
    ----------
    too_deep_time : Quantity
        Array over the ways in which the job may run, the first being the
        middle and not counted; or one time, which is returned.
    chance_too_deep : Quantity
        Accepted chance, 0.005 to 0.5.
    """
    ways = np.atleast_1d(too_deep_time.to(MINUTE).magnitude)
    return Quantity(share_of(ways, chance_too_deep.to(ONE).magnitude), MINUTE)
