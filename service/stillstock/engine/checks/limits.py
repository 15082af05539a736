"""Limits that the checks share, where the caller states none."""

from stillstock.engine.set_up import SetUp

__all__ = ["GAP_AS_TAUGHT", "TOLERANCE", "tolerance"]

#: How far stock may give way, rise or sag before the part shows it: common practice for wood and panels, no source; for
#: inlays and metal a shop states less. [m]
TOLERANCE = 0.2e-3

#: Greatest gap under stock that a course on router work accepts, 1/16 in: read in the course, no test behind it. [m]
GAP_AS_TAUGHT = 1.6e-3


def tolerance(set_up: SetUp) -> tuple[float, str]:
    """Return how far the stock may give way, and the source of that limit. [m]"""
    return (TOLERANCE, "common_practice") if set_up.tolerance is None else (set_up.tolerance, "caller")
