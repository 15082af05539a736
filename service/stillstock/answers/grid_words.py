"""What an answer about a spoilboard says in words."""

import math
from collections.abc import Iterator, Mapping

from stillstock.answers.grid_request import GridRequest
from stillstock.answers.margin_words import in_one_line
from stillstock.engine.grid.insert_hole import HoleCut
from stillstock.engine.grid.pattern import Grid, crossed_holes, off_centre, strokes_along
from stillstock.engine.grid.request import HoleKind, Mark, PatternPlace

__all__ = ["cautions", "hole_notes", "line_notes", "summary"]

_COUNTED = {
    "lines_x": ("line along x", "lines along x"),
    "lines_y": ("line along y", "lines along y"),
    "crosses": ("cross", "crosses"),
    "dots": ("dot", "dots"),
    "holes": ("hole", "holes"),
    "dowels": ("dowel hole", "dowel holes"),
    "labels": ("label", "labels"),
}


def summary(asked: GridRequest, marks: Mapping[str, int], time: float) -> str:
    """Return one line of ASCII for a dialog."""
    counted = [f"{count} {_COUNTED[mark][count != 1]}" for mark, count in marks.items() if count and mark in _COUNTED]
    if asked.skim:
        counted.append(f"a skim of {asked.length(asked.skim.depth)}")
    minutes = f"about {max(1, math.ceil(time / 60.0))} min"
    return in_one_line(f"{', '.join(counted)}; {minutes}")


def line_notes(asked: GridRequest, width: float) -> tuple[str, ...]:
    """Return what the program of the lines says of its cut."""
    depth = f"lines {asked.length(asked.depth)} deep, {asked.length(width)} wide"
    major = f", major lines {asked.length(asked.major_depth)} deep" if asked.major_depth != asked.depth else ""
    return (depth + major,)


def hole_notes(asked: GridRequest, hole: HoleCut | None) -> tuple[str, ...]:
    """Return what the program of the holes says of its cut."""
    if hole is None or asked.pattern.mark is not Mark.HOLES:
        return ()
    notes = [f"holes of {asked.length(hole.diameter)}, {asked.length(hole.depth)} deep"]
    if hole.counterbore:
        diameter, depth = hole.counterbore
        notes.append(f"counterbores of {asked.length(diameter)}, {asked.length(depth)} deep")
    return tuple(notes)


def cautions(asked: GridRequest, grid: Grid, hole: HoleCut | None, dropped: int) -> tuple[str, ...]:
    """Return what the person at the machine should mind."""
    return (
        *_pattern(asked, grid),
        *_holes(asked, hole),
        *_zero(asked),
        *_rounding(asked),
        *((f"{dropped} pieces of lines are shorter than {asked.length(0.001)} and left out",) if dropped else ()),
    )


def _pattern(asked: GridRequest, grid: Grid) -> Iterator[str]:
    for axis, (pitch, size) in enumerate(zip(asked.pattern.pitch, asked.table.size, strict=True)):
        if pitch > size:
            yield (
                f"along {'xy'[axis]} the pitch of {asked.length(pitch)} is larger than the table of "
                f"{asked.length(size)}: there is one place at most"
            )
    existing = asked.pattern.existing
    if existing is None:
        return
    for axis, uneven in enumerate(off_centre(asked.pattern)):
        if uneven:
            yield (
                f"along {'xy'[axis]} the holes' pitch of {asked.length(existing.pitch[axis])} is no whole multiple of "
                f"the grid's {asked.length(asked.pattern.pitch[axis])}: not every hole lies alike in its cell"
            )
    if existing.place is PatternPlace.BETWEEN and existing.clearance is None:
        axes = {Mark.LINES: (0, 1), Mark.LINES_X: (0,), Mark.LINES_Y: (1,)}.get(asked.pattern.mark, ())
        for axis in axes:
            strokes = strokes_along(grid, area=asked.pattern.area, axis=axis)
            count = len(crossed_holes(strokes, existing=existing, axis=axis))
            if count:
                yield f"{count} lines along {'xy'[axis]} run over existing holes: give the pattern a clearance"


def _holes(asked: GridRequest, hole: HoleCut | None) -> Iterator[str]:
    wanted = asked.hole
    if wanted is None or hole is None or asked.pattern.mark is not Mark.HOLES:
        return
    if wanted.kind in (HoleKind.INSERT, HoleKind.DOWEL):
        yield "try one hole in scrap of the same board first: the fit depends on the board and the fitting's maker"
    if wanted.kind is HoleKind.INSERT and hole.through:
        yield "the holes go through the board: with room for chips they are as deep as it is thick"
    if hole.underside:
        diameter, depth = hole.underside
        yield (
            f"the flange needs a counterbore of {asked.length(diameter)}, {asked.length(depth)} deep, from below: "
            "cut it before the board is fixed; it is drawn on the layer underside and in no program"
        )
    if hole.through:
        yield "the program ends at the underside of the board, so a thin film may stay; nothing below is cut"
    if wanted.kind in (HoleKind.INSERT, HoleKind.TEE_NUT) and wanted.sunk <= 0.0:
        yield "fittings flush with the face are hit by the next skim: sink them some millimetres"


def _zero(asked: GridRequest) -> Iterator[str]:
    x0, y0, x1, y1 = asked.table.box
    if asked.zero_mark and not (x0 <= 0.0 <= x1 and y0 <= 0.0 <= y1):
        yield "the work zero lies off the table: no mark is cut there"


def _rounding(asked: GridRequest) -> Iterator[str]:
    step, name = (2.54e-6, "0.0001 in") if asked.inch else (1e-6, "0.001 mm")
    places = (*asked.pattern.pitch, *asked.pattern.area, *asked.pattern.offset)
    if any(abs(place / step - round(place / step)) > 1e-4 for place in places):
        yield f"places in the program are rounded to {name} each; the rounding does not add up from line to line"
