"""Pens of the picture of heights, and colours of its keep-outs: readable in black and white."""

from collections.abc import Iterable, Mapping

from stillstock.writers.svg import Pen

__all__ = ["colours", "pens"]


def pens(size: float) -> Mapping[str, Pen]:
    """Return the pens for a drawing whose largest side is `size`. [m]"""
    unit = size / 1000.0
    return {
        "under_stock": Pen(width=unit, colour="#8a8a8a", fill="#dde6ee"),
        "cut_corridor": Pen(width=0.8 * unit, colour="#5b6f9a", fill="#e3e8f2"),
        "rapid_corridor": Pen(width=unit, colour="#6f6f6f", dash=(3 * unit, 3 * unit)),
        "bed": Pen(width=unit, colour="#8a8a8a", fill="#ece7dd"),
        "stock": Pen(width=2.5 * unit, colour="#2b2b2b"),
        "holders": Pen(width=1.6 * unit, colour="#20394f", fill="#a9c0d6"),
        "keep_outs": Pen(width=1.6 * unit, colour="#b3400b", dash=(8 * unit, 4 * unit)),
        "clearance": Pen(width=2.2 * unit, colour="#b3400b"),
        "retract": Pen(width=2.2 * unit, colour="#2f6f4f", dash=(12 * unit, 4 * unit)),
        "meetings": Pen(width=3 * unit, colour="#b3400b"),
        "leaders": Pen(width=0.6 * unit, colour="#2b2b2b"),
        "grounds": Pen(width=0.1 * unit, colour="#ffffff", fill="#ffffff"),
        "text": Pen(width=unit, colour="#2b2b2b"),
    }


def colours(layers: Iterable[str]) -> Mapping[str, int]:
    """Return colour indices: the stock grey (8), keep-outs red (1)."""
    return {layer: 8 if layer == "stock" else 1 for layer in layers}
