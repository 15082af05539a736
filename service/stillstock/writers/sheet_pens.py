"""Pens of the sheet's pictures: black and grey, for a laser printer."""

from collections.abc import Mapping

from stillstock.writers.svg import Pen

__all__ = ["PENS"]

PENS: Mapping[str, Pen] = {
    "bed": Pen(width=0.0002, colour="#666", fill="#e4e4e4"),
    "areas": Pen(width=0.0002, colour="#444", dash=(0.001, 0.0008)),
    "stock": Pen(width=0.0005, colour="#000"),
    "path": Pen(width=0.00015, colour="#777"),
    "holders": Pen(width=0.0003, colour="#000", fill="#c8c8c8"),
    "heights": Pen(width=0.0003, colour="#000", dash=(0.002, 0.001)),
    "zero": Pen(width=0.0004, colour="#000"),
    "worst": Pen(width=0.0006, colour="#000"),
    "leaders": Pen(width=0.00015, colour="#444"),
    "numbers": Pen(width=0.0003, colour="#000", fill="#fff"),
    "text": Pen(width=0.0002, colour="#000"),
}
