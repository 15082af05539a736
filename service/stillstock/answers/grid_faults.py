"""What cannot be in a request for a spoilboard, all of it at once."""

import math
from collections.abc import Callable, Iterator

import numpy as np

from stillstock.answers.grid_request import GridRequest, Program
from stillstock.engine.grid.dowels import dowel_places
from stillstock.engine.grid.insert_hole import hole_cut
from stillstock.engine.grid.labelling import least_margin, widest, written
from stillstock.engine.grid.pattern import grid_of, mark_count
from stillstock.engine.grid.request import DowelKind, HoleKind, Mark
from stillstock.engine.grid.v_groove import width_of_depth
from stillstock.errors import Fault, ImpossibleSetUp, TooMuchWork

__all__ = ["check_moves", "check_request"]

# Places to keep out of, and marks times such places: what looking at each pair may cost. [-]
_MOST_PLACES = 10_000
_MOST_PAIRS = 40_000_000
_MOST_MOVES = 200_000  # turns, pecks and rows of one program [-]
_NOISE = 1e-9  # [m]


def check_request(asked: GridRequest) -> None:
    """Refuse what cannot be.

    Raises
    ------
    TooMuchWork
        If the pattern would make more marks than the limit; before any of them is made.
    ImpossibleSetUp
        With every other fault.
    """
    _check_work(asked)
    faults = [fault for check in _CHECKS for fault in check(asked)]
    if faults:
        raise ImpossibleSetUp(faults)


def _check_work(asked: GridRequest) -> None:
    count = mark_count(asked.pattern)
    if count > asked.most_marks:
        detail = (
            f"this pitch makes {count} marks on this area; one request may make {asked.most_marks}: "
            "take a larger pitch or a part of the table at a time"
        )
        fault = Fault(pointer="/pitch", code="too_many_marks", detail=detail, limit=asked.most_marks, seen=count)
        raise TooMuchWork([fault])
    existing = asked.pattern.existing
    holes = existing.count[0] * existing.count[1] if existing else 0
    places = len(asked.keep_outs) + (holes if existing and existing.clearance is not None else 0)
    for pointer, code, limit, seen in (
        ("/existing", "too_many_holes", asked.most_marks, holes),
        ("/keep_outs", "too_many_places", _MOST_PLACES, places),
        ("/keep_outs", "too_many_pairs", _MOST_PAIRS, (count + 1) * places),
    ):
        if seen > limit:
            what = {"too_many_pairs": "pairs of a mark and a place to keep out of"}.get(code, "holes or keep-outs")
            detail = f"these are {seen} {what}; one request may have {limit}"
            raise TooMuchWork([Fault(pointer=pointer, code=code, detail=detail, limit=limit, seen=seen)])


def check_moves(pointer: str, count: int) -> None:
    """Refuse a program of more moves than one request may cost, before it is made.

    Raises
    ------
    TooMuchWork
        With the limit and the count.
    """
    if count > _MOST_MOVES:
        detail = f"this takes {count} turns, pecks or rows of the tool; one program may have {_MOST_MOVES}"
        raise TooMuchWork([Fault(pointer=pointer, code="too_many_moves", detail=detail, limit=_MOST_MOVES, seen=count)])


def _area(asked: GridRequest) -> Iterator[Fault]:
    x0, y0, x1, y1 = asked.pattern.area
    if x1 - x0 <= _NOISE or y1 - y0 <= _NOISE:
        yield Fault(pointer="/margin", code="no_area", detail="the margins leave nothing of the table")
    box = asked.table.box
    if x0 < box[0] - _NOISE or y0 < box[1] - _NOISE or x1 > box[2] + _NOISE or y1 > box[3] + _NOISE:
        yield Fault(pointer="/area", code="off_table", detail="the area to be marked reaches over the table's edge")


def _crosses(asked: GridRequest) -> Iterator[Fault]:
    pattern = asked.pattern
    if pattern.mark is Mark.CROSSES and pattern.cross_size >= min(pattern.pitch):
        limit = asked.length(min(pattern.pitch))
        yield Fault(
            pointer="/cross_size",
            code="overlap",
            detail=f"crosses of {asked.length(pattern.cross_size)} would cut into each other: less than {limit}",
            limit=limit,
        )


def _groove(asked: GridRequest) -> Iterator[Fault]:
    bit = asked.bit
    if not asked.engraves:
        return
    for pointer, depth in (("/line", asked.depth), ("/line/major_depth", asked.major_depth)):
        width = width_of_depth(depth, angle=bit.angle, tip=bit.tip)
        if depth <= 0.0:
            detail = f"the bit's flat of {asked.length(bit.tip)} alone is wider than the line"
            yield Fault(pointer=pointer, code="wider_than_line", detail=detail)
        elif depth >= asked.table.thickness:
            detail = f"lines of {asked.length(depth)} are as deep as the board of {asked.length(asked.table.thickness)}"
            yield Fault(
                pointer=pointer, code="deeper_than_board", detail=detail, limit=asked.length(asked.table.thickness)
            )
        elif width > bit.diameter + _NOISE:
            detail = (
                f"{asked.length(depth)} deep would be {asked.length(width)} wide, more than the bit itself with "
                f"{asked.length(bit.diameter)}"
            )
            yield Fault(pointer=pointer, code="wider_than_bit", detail=detail, limit=asked.length(bit.diameter))


def _fitting_words(kind: HoleKind) -> str:
    return (
        "the plain hole" if kind is HoleKind.PLAIN else f"sunk and with its flange the {kind.value.replace('_', ' ')}"
    )


def _hole(asked: GridRequest) -> Iterator[Fault]:
    wanted, table = asked.hole, asked.table
    if wanted is None:
        if asked.pattern.mark is Mark.HOLES:
            yield Fault(pointer="/hole", code="missing", detail="say what the holes are for: diameter, length ...")
        return
    cut = hole_cut(wanted, board=table.board, thickness=table.thickness)
    if cut.needed > table.thickness + _NOISE:
        detail = (
            f"{_fitting_words(wanted.kind)} takes {asked.length(cut.needed)} "
            f"of a board of {asked.length(table.thickness)}"
        )
        yield Fault(
            pointer="/hole/length",
            code="deeper_than_board",
            detail=detail,
            limit=asked.length(table.thickness),
            seen=asked.length(cut.needed),
        )
    if wanted.core >= wanted.diameter:
        yield Fault(
            pointer="/hole/core",
            code="range",
            detail="the core lies under the thread: less than the diameter",
            limit=asked.length(wanted.diameter),
            seen=asked.length(wanted.core),
        )
    yield from _mill(asked, cut.diameter, "/hole")
    if asked.pattern.mark is Mark.HOLES and cut.widest >= min(asked.pattern.pitch):
        detail = f"holes of {asked.length(cut.widest)} would run into each other"
        yield Fault(pointer="/pitch", code="overlap", detail=detail, limit=asked.length(min(asked.pattern.pitch)))
    yield from _edge_room(asked, cut.widest / 2.0)


def _edge_room(asked: GridRequest, radius: float) -> Iterator[Fault]:
    box, area = asked.table.box, asked.pattern.area
    room = min(area[0] - box[0], area[1] - box[1], box[2] - area[2], box[3] - area[3])
    if asked.pattern.mark is Mark.HOLES and room < radius - _NOISE:
        detail = f"holes of {asked.length(2 * radius)} can reach over the table's edge: leave {asked.length(radius)}"
        yield Fault(pointer="/margin", code="off_table", detail=detail, corrected=asked.length(radius))


def _mill(asked: GridRequest, diameter: float, pointer: str) -> Iterator[Fault]:
    if asked.end_mill.diameter > diameter + 1e-6:
        detail = (
            f"an end mill of {asked.length(asked.end_mill.diameter)} does not fit into a hole of "
            f"{asked.length(diameter)}"
        )
        yield Fault(pointer=pointer, code="mill_too_large", detail=detail, limit=asked.length(diameter))


def _dowels(asked: GridRequest) -> Iterator[Fault]:
    x0, y0, x1, y1 = asked.table.box
    for number, dowels in enumerate(asked.dowels):
        pointer = f"/dowels/{number}"
        if dowels.depth > asked.table.thickness:
            detail = f"holes of {asked.length(dowels.depth)} are deeper than the board"
            limit = asked.length(asked.table.thickness)
            yield Fault(pointer=f"{pointer}/depth", code="deeper_than_board", detail=detail, limit=limit)
        if math.dist(dowels.at, dowels.to) < dowels.diameter:
            detail = "the two points lie closer together than a dowel is thick"
            yield Fault(pointer=f"{pointer}/to", code="no_length", detail=detail)
            continue
        if dowels.kind is DowelKind.CORNER and 0.0 in (dowels.to[0] - dowels.at[0], dowels.to[1] - dowels.at[1]):
            yield Fault(pointer=f"{pointer}/to", code="no_area", detail="two opposite corners of the stock are wanted")
            continue
        for (x, y), diameter in dowel_places(dowels):
            reach = (diameter + dowels.fit) / 2.0
            if x - reach < x0 or y - reach < y0 or x + reach > x1 or y + reach > y1:
                detail = f"the dowel at {asked.length(x)}, {asked.length(y)} stands over the table's edge"
                yield Fault(pointer=pointer, code="off_table", detail=detail)
        yield from _mill(asked, min(d for _, d in dowel_places(dowels)) + dowels.fit, pointer)


def _labels(asked: GridRequest) -> Iterator[Fault]:
    labels, pattern, box = asked.labels, asked.pattern, asked.table.box
    if labels is None:
        return
    grid = grid_of(pattern)
    items = written(grid, labels=labels, major_every=pattern.major_every, corner=pattern.area[:2], inch=asked.inch)
    for axis, room in ((0, pattern.area[1] - box[1]), (1, pattern.area[0] - box[0])):
        needed = least_margin(items, axis=axis, height=labels.height)
        if needed > room + _NOISE:
            detail = f"labels of {asked.length(labels.height)} need a margin of {asked.length(needed)}"
            limit = asked.length(room)
            yield Fault(pointer="/margin", code="no_room", detail=detail, limit=limit, corrected=asked.length(needed))
        places = np.array([item.place for item in items if item.axis == axis])
        spacing = float(np.diff(places).min()) if len(places) > 1 else math.inf
        extent = widest(items, axis=axis, height=labels.height) if axis == 0 else labels.height
        if extent + 0.3 * labels.height > spacing:
            detail = (
                f"labels of {asked.length(extent)} run into each other at {asked.length(spacing)}: "
                "write them smaller, or name major lines only"
            )
            yield Fault(pointer="/labels/height", code="overlap", detail=detail, limit=asked.length(spacing))


def _skim(asked: GridRequest) -> Iterator[Fault]:
    if asked.skim is None:
        return
    left = asked.table.thickness - asked.skim.depth
    if left < asked.table.least_thickness:
        detail = (
            f"the skim would leave {asked.length(left)} of the board, less than the "
            f"{asked.length(asked.table.least_thickness)} at which it is changed"
        )
        limit = asked.length(max(0.0, asked.table.thickness - asked.table.least_thickness))
        yield Fault(pointer="/skim/depth", code="board_too_thin", detail=detail, limit=limit)


def _program(asked: GridRequest) -> Iterator[Fault]:
    has = {Program.LINES: asked.engraves, Program.HOLES: asked.bores, Program.SKIM: asked.skim is not None}
    if not any(has.values()):
        yield Fault(pointer="/mark", code="nothing_to_cut", detail="no marks, no dowels and no skim are asked for")
    elif asked.program is not None and not has[asked.program]:
        detail = f"nothing in this request belongs into the program of the {asked.program.value}"
        yield Fault(pointer="/program", code="nothing_to_cut", detail=detail)


_CHECKS: tuple[Callable[[GridRequest], Iterator[Fault]], ...] = (
    _area,
    _crosses,
    _groove,
    _hole,
    _dowels,
    _labels,
    _skim,
    _program,
)
