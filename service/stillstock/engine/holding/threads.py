"""What a turned thread gives: preload from torque, and its scatter."""

from dataclasses import replace

from stillstock.tables.load import Tables
from stillstock.tables.scatter import Grade, Triple

__all__ = ["BOLTS", "HANDLES", "bolt_key", "given_or", "preload"]

#: Bolts that a caller may name; each is a subject of the table of bolts.
BOLTS = ("M4", "M5", "M6", "M8", "M10", "M12", "1/4", "5/16", "3/8")

#: What the torque is turned with where no torque is given; subjects of the table of clamps.
HANDLES = ("round_knob", "star_knob", "lever_handle", "hex_key")


def bolt_key(bolt: str) -> str:
    """Return the table's subject for a bolt as the shop writes it."""
    return f"unc_{bolt.replace('/', '_')}" if "/" in bolt else bolt.lower()


def given_or(given: Triple | None, table: Triple) -> Triple:
    """Return the caller's own number, named as such, or the table's."""
    return (
        table
        if given is None
        else replace(given, what=table.what, dimension=table.dimension, source="caller", grade=Grade.CALLER)
    )


def preload(tables: Tables, *, bolt: str, thread: str, torque: float | None, handle: str) -> Triple:
    r"""Return a bolt's pull from the torque on it.

    Parameters
    ----------
    tables : Tables
    bolt : str
        One of `BOLTS`.
    thread : str
        Subject of the table of clamps with a nut factor (``"plain_steel_dry"``, ``"oiled"``...).
    torque : float or None
        Torque as measured; None for what a hand gives on the handle. [N m]
    handle : str
        One of `HANDLES`.

    Returns
    -------
    Triple
        Low with the greatest nut factor, high with the least. [N]

    Notes
    -----
    .. math:: F = T / (K d)

    The scatter of the nut factor K and that of a torque wrench are the same thing; the wider of both is taken, never
    their product. Torque equation and factor: Shigley's Mechanical Engineering Design, ch. 8, from memory.
    """
    factor = tables.value("clamps", thread, "nut_factor")
    diameter = tables.value("bolts", bolt_key(bolt), "nominal_diameter").typical
    hand = tables.value("clamps", handle, "hand_torque")
    scatter = tables.value("clamps", "torque_wrench", "preload_scatter").typical
    turned = (torque, torque, torque) if torque is not None else (hand.low, hand.typical, hand.high)
    middle = turned[1] / (factor.typical * diameter)
    return Triple(
        low=min(turned[0] / (factor.high * diameter), middle * (1.0 - scatter)),
        typical=middle,
        high=max(turned[2] / (factor.low * diameter), middle * (1.0 + scatter)),
        what=f"pull of an {bolt} bolt, {thread.replace('_', ' ')}",
        source=factor.source if torque is not None else hand.source,
        grade=factor.grade,
        dimension="force",
        note=f"torque over nut factor and diameter; nut factor {factor.low:g} / {factor.typical:g} / {factor.high:g}",
    )
