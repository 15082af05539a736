"""Pens of the margin's picture: readable in black and white, and by people with colour-blindness."""

from collections.abc import Mapping

from stillstock.writers.svg import Pen

__all__ = ["pens"]


def pens(size: float) -> Mapping[str, Pen]:
    """Return the pens for a drawing whose largest side is `size`. [m]"""
    unit = size / 1000.0
    return {
        "bed": Pen(width=unit, colour="#8a8a8a", dash=(4 * unit, 4 * unit)),
        "stock": Pen(width=2.5 * unit, colour="#2b2b2b", fill="#f3efe6"),
        "suction": Pen(width=1.5 * unit, colour="#4f7f8f", fill="#dcebf0", dash=(10 * unit, 4 * unit)),
        "bond": Pen(width=1.5 * unit, colour="#7a6a2f", fill="#eee6c4"),
        "path": Pen(width=0.8 * unit, colour="#5b6f9a"),
        "press": Pen(width=2 * unit, colour="#20394f", fill="#a9c0d6"),
        "stop": Pen(width=3 * unit, colour="#20394f"),
        "fastener": Pen(width=2 * unit, colour="#20394f", fill="#ffffff"),
        "moved-stock": Pen(width=2.5 * unit, colour="#b3400b", dash=(14 * unit, 8 * unit)),
        "pivot": Pen(width=2 * unit, colour="#b3400b", dash=(6 * unit, 4 * unit)),
        "motion": Pen(width=4 * unit, colour="#b3400b"),
        "worst": Pen(width=3 * unit, colour="#b3400b"),
        "numbers": Pen(width=1.2 * unit, colour="#2b2b2b", fill="#ffffff"),
        "text": Pen(width=1.5 * unit, colour="#2b2b2b"),
    }
