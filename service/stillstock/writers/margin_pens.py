"""Pens of the margin's picture: readable in black and white, and by people with colour-blindness.

The colours of the margin fall in lightness from what is beyond doubt to what lets go, whatever cones an eye has, and
the strokes grow wider the same way.
"""

from collections.abc import Mapping

from stillstock.writers.svg import Pen

__all__ = ["COLOURS", "pens"]

#: From what lets go to what is beyond all doubt; the project's own choice.
COLOURS = ("#0d0306", "#440a26", "#6e1c3f", "#8f3c5f", "#7f5f9e", "#5a82b8", "#45a3c8")

#: Widths of the path's strokes, in units of the sheet. [-]
WIDTHS = (1.15, 1.0, 0.8, 0.65, 0.5, 0.42, 0.36)

_INK, _HOLDER, _GREY, _ALARM = "#1f1f1f", "#20394f", "#6f6f6f", "#a63a08"


def pens(unit: float) -> Mapping[str, Pen]:
    """Return the pens for a sheet of 190 units' width.

    Parameters
    ----------
    unit : float
        A millimetre of an A4 print. [m]
    """

    def pen(width: float, colour: str, *, fill: str = "none", dash: tuple[float, ...] = ()) -> Pen:
        return Pen(width=width * unit, colour=colour, fill=fill, dash=tuple(unit * length for length in dash))

    return {
        "bed": pen(0.3, _GREY, dash=(1.0, 1.0)),
        "stock": pen(0.5, _INK, fill="#faf8f3"),
        "suction": pen(0.35, "#35606e", fill="#e3eff2", dash=(2.0, 0.8)),
        "bond": pen(0.35, "#6a5b20", fill="#f2ecd2"),
        "part": pen(0.35, _INK, dash=(0.6, 0.8)),
        "idle": pen(0.25, _GREY),
        "grid": pen(0.12, "#b5b5b5"),
        "limit": pen(0.3, COLOURS[0], dash=(0.8, 0.8)),
        "asked": pen(0.4, _ALARM, dash=(2.4, 1.0)),
        "upper": pen(0.2, _GREY),
        **{f"margin-{k}": pen(w, c) for k, (c, w) in enumerate(zip(COLOURS, WIDTHS, strict=True))},
        **{f"scale-{k}": pen(0.2, _INK, fill=c) for k, c in enumerate(COLOURS)},
        "tab": pen(0.35, _HOLDER, fill="#d9b36b"),
        "press": pen(0.4, _HOLDER, fill="#b9cbdb"),
        "stop": pen(0.6, _HOLDER),
        "fastener": pen(0.45, _HOLDER, fill="#ffffff"),
        "moved-stock": pen(0.5, _ALARM, dash=(2.8, 1.6)),
        "pivot": pen(0.45, _ALARM, dash=(1.2, 0.8)),
        "motion": pen(0.8, _ALARM),
        "worst": pen(0.6, _ALARM),
        "frame": pen(0.3, _INK),
        "short": pen(1.2, _ALARM),
        "numbers": pen(0.25, _INK, fill="#ffffff"),
        "text": pen(0.3, _INK),
    }
