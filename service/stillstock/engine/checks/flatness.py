"""What uneven height does to a V-line's width and to how an inlay fits."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.checks.check import Check, Effect
from stillstock.engine.checks.limits import tolerance
from stillstock.engine.checks.sheet import SheetState
from stillstock.engine.checks.worked import Worked
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.demands import plain
from stillstock.engine.set_up import FloatArray, SetUp, ToolKind

__all__ = ["flatness", "height_errors", "inlay_gap", "line_growth"]

#: Thickness scatter of one roll of tape on its thickness; common practice, no source. [-]
TAPE_SCATTER = 0.1


def line_growth(height_error: float, *, tip_angle: float) -> float:
    r"""Return by how much a V-line's width changes with the height of the face.

    Parameters
    ----------
    height_error : float
        dz. [m]
    tip_angle : float
        Included angle of the bit. [rad]

    Returns
    -------
    float
        [m]

    Notes
    -----
    .. math:: \Delta w = 2\,dz \tan(\theta / 2)

    Examples
    --------
    >>> round(line_growth(1.2e-3, tip_angle=np.pi / 3.0) * 1e3, 2)
    1.39
    """
    return 2.0 * inlay_gap(height_error, tip_angle=tip_angle)


def inlay_gap(height_error: float, *, tip_angle: float) -> float:
    r"""Return how far the walls of an inlay's pocket and plug stand off each other, or bind, for an error of height.

    Parameters
    ----------
    height_error : float
        dz of one of the two, cut with walls at half the bit's angle and then laid flat. [m]
    tip_angle : float
        Included angle of the bit. [rad]

    Returns
    -------
    float
        At each wall; twice that where both are off in opposite ways. [m]

    Notes
    -----
    .. math:: g = dz \tan(\theta / 2)

    A wall that is cut while the face stands dz high lies dz too deep in the work once that is flat, and a wall that
    leans by half the angle then stands g aside. Own derivation.

    Examples
    --------
    >>> round(inlay_gap(0.15e-3, tip_angle=np.pi / 6.0) * 1e3, 3)
    0.04
    """
    return height_error * float(np.tan(tip_angle / 2.0))


def height_errors(set_up: SetUp, contacts: Contacts, gap: float) -> tuple[float, ...]:
    """Return what makes the top face uneven: stock, bed, bow that the holders leave, tape. [m]"""
    stock = set_up.stock
    tapes = [getattr(set_up.holders[bond.holder], "thickness", 0.0) for bond in contacts.bonds if bond.holder >= 0]
    return (
        stock.thickness[1] - stock.thickness[0],
        set_up.bed.error,
        gap,
        TAPE_SCATTER * max((float(thickness) for thickness in tapes), default=0.0),
    )


@dataclass(frozen=True, kw_only=True)
class _Strokes:
    """Straight strokes of a V-bit, those of described cuts first.

    Attributes
    ----------
    start, end : (n, 3) arrays
        [m]
    cuts : list of str
        Names of the described cuts, one a stroke.
    line : int array
        Lines of the program, one a stroke that is left.
    """

    start: FloatArray
    end: FloatArray
    cuts: list[str]
    line: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.start)

    def name(self, stroke: int) -> str:
        """Return where a stroke is said to be."""
        described = len(self.cuts)
        return self.cuts[stroke] if stroke < described else f"line {self.line[stroke - described]}"

    def nearest(self, at: tuple[float, float]) -> tuple[int, tuple[float, float, float]]:
        """Return the stroke that comes nearest in plan to a point, and where it does. [m]"""
        step = self.end - self.start
        square = np.maximum(np.einsum("ij,ij->i", step[:, :2], step[:, :2]), 1e-30)
        share = np.clip(np.einsum("ij,ij->i", at - self.start[:, :2], step[:, :2]) / square, 0.0, 1.0)
        places = self.start + share[:, None] * step
        best = int(np.argmin(np.round(np.hypot(*(places[:, :2] - at).T), 9)))
        x, y, z = places[best]
        return best, (float(x), float(y), float(z))


def _strokes(set_up: SetUp, program: Worked | None, tool: int) -> _Strokes:
    """Return where a tool cuts."""
    starts, ends, names = [np.zeros((0, 3))], [np.zeros((0, 3))], []
    for cut in set_up.cuts:
        if cut.tool == tool:
            starts.append(cut.path[: max(len(cut.path) - 1, 1)])
            ends.append(cut.path[min(1, len(cut.path) - 1) :])
            names += [plain(cut.name) or "cut"] * len(starts[-1])
    line = np.zeros(0, dtype=np.int64)
    if program is not None:
        rows = np.nonzero(program.rows(tool))[0]
        line = program.moves.line[rows]
        starts.append(program.moves.start[rows])
        ends.append(program.moves.end[rows])
    return _Strokes(start=np.concatenate(starts), end=np.concatenate(ends), cuts=names, line=line)


def _highest(set_up: SetUp, state: SheetState | None) -> tuple[float, float]:
    """Return where the face stands highest: over the sheet's greatest gap, else in the middle of the stock. [m]"""
    if state is not None:
        return state.gap_at
    plan = set_up.stock.plan
    x, y = (plan.min(axis=0) + plan.max(axis=0)) / 2.0
    return float(x), float(y)


def flatness(
    set_up: SetUp,
    contacts: Contacts,
    states: tuple[SheetState | None, SheetState | None],
    program: Worked | None = None,
) -> Iterator[Check]:
    """Give for each V-bit in use what uneven height does to its lines and inlays.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    states : (2,) tuple of SheetState or None
        At the worst corner and the typical one; without them the whole bow counts.
    program : Worked or None

    Notes
    -----
    At worst the errors add up; typically they are independent, and the root of the sum of their squares counts. The
    whole error counts wherever the bit cuts, for its zero may have been taken where the face lies lowest; the place
    given is the one of its lines that is nearest to where the face stands highest.
    """
    worst, usual = (state.gap if state is not None else set_up.stock.bow for state in states)
    most, source = tolerance(set_up)
    total = sum(height_errors(set_up, contacts, worst))
    if total <= 0.0:
        return
    typical = float(np.hypot.reduce(height_errors(set_up, contacts, usual)))
    for tool in set_up.tools.values():
        if tool.kind is not ToolKind.V_BIT:
            continue
        strokes = _strokes(set_up, program, tool.number)
        if not len(strokes):
            continue
        stroke, at = strokes.nearest(_highest(set_up, states[0]))
        growth, gap = line_growth(total, tip_angle=tool.tip_angle), inlay_gap(total, tip_angle=tool.tip_angle)
        lengths = {"height_error": total, "line_width": growth, "inlay_gap": gap}
        yield Check(
            name="flatness",
            holder=None,
            value=growth,
            limit=most,
            typical_ratio=line_growth(typical, tip_angle=tool.tip_angle) / most,
            breaks=False,
            detail=(
                f"the face may be {{0}} off in height: a line of tool {tool.number} is then {{1}} wider or narrower "
                f"({strokes.name(stroke)}), and an inlay gaps or binds by {{2}} at each wall"
            ),
            source=source,
            dimension="length",
            at=at,
            numbers=tuple((length, "length") for length in lengths.values()),
            effects=tuple(Effect(name=word, value=length, dimension="length") for word, length in lengths.items()),
        )
