"""Laying a spoilboard out: marks, text, holes and dowels, where the keep-outs let them be."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from stillstock.answers.grid_request import GridRequest
from stillstock.engine.grid.dowels import dowel_places
from stillstock.engine.grid.insert_hole import HoleCut, hole_cut
from stillstock.engine.grid.labelling import written
from stillstock.engine.grid.marks import (
    BrokenLine,
    Ground,
    LeftOut,
    Lines,
    free_labels,
    free_nodes,
    free_strokes,
    pattern_lines,
)
from stillstock.engine.grid.passes import Bored, CutLine, ordered_dots, ordered_lines, toured_bores
from stillstock.engine.grid.pattern import existing_keep_outs, grid_of, nodes, zero_strokes
from stillstock.engine.grid.request import Dowels, Mark
from stillstock.engine.grid.v_groove import width_of_depth
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

__all__ = ["Layout"]

_SHORTEST = 0.001  # piece of a line that is worth a plunge (common practice, no source) [m]


@dataclass
class Layout:
    """What has been laid out so far; each step adds to it."""

    asked: GridRequest
    cuts: list[CutLine] = field(default_factory=list)
    dots: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    bores: list[Bored] = field(default_factory=list)
    broken: list[BrokenLine] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    marks: dict[str, int] = field(default_factory=dict)
    assumptions: list[Triple] = field(default_factory=list)
    dropped: int = 0

    def __post_init__(self) -> None:
        asked = self.asked
        existing = asked.pattern.existing
        self.keep_outs = (*asked.keep_outs, *(existing_keep_outs(existing) if existing else ()))
        self.width = width_of_depth(asked.depth, angle=asked.bit.angle, tip=asked.bit.tip)
        self.major_width = width_of_depth(asked.major_depth, angle=asked.bit.angle, tip=asked.bit.tip)
        self.ground = Ground(keep_outs=self.keep_outs, width=max(self.width, self.major_width), shortest=_SHORTEST)
        self.grid = grid_of(asked.pattern)
        self.hole = (
            hole_cut(asked.hole, board=asked.table.board, thickness=asked.table.thickness) if asked.hole else None
        )

    def mark_lines(self) -> None:
        """Lay out what the V-bit draws: lines or crosses, the zero, the text."""
        asked = self.asked
        lines, self.broken, missing, self.dropped = pattern_lines(asked.pattern, grid=self.grid, ground=self.ground)
        self.left_out += missing
        crosses = asked.pattern.mark is Mark.CROSSES
        fine, major = ("crosses", "crosses") if crosses else ("lines_fine", "lines_major")
        layers = (_layer(fine, asked.depth), _layer(major, asked.major_depth))
        self.cuts = ordered_lines(lines, others=self._others(), order=asked.order, layers=layers)
        counts = {"crosses": len(lines[0].strokes)} if crosses else _line_counts(lines)
        self.marks = {**counts, **self.marks}

    def _others(self) -> list[CutLine]:
        asked, others = self.asked, []
        if asked.zero_mark:
            free, missing = free_strokes(
                zero_strokes(asked.table.box, size=asked.zero_mark), mark="zero mark", ground=self.ground
            )
            others += [CutLine(layer="zero", points=points, depth=asked.depth) for points in free]
            self.left_out += missing
        if asked.labels:
            items = written(
                self.grid,
                labels=asked.labels,
                major_every=asked.pattern.major_every,
                corner=asked.pattern.area[:2],
                inch=asked.inch,
            )
            kept, missing = free_labels(items, ground=self.ground)
            self.left_out += missing
            self.marks["labels"] = len(kept)
            others += [
                CutLine(layer="text", points=stroke, depth=asked.depth) for item in kept for stroke in item.strokes
            ]
        return others

    def mark_points(self) -> None:
        """Lay out dots, the pattern's holes and the dowels; holes and dowels in one short tour."""
        asked, mark = self.asked, self.asked.pattern.mark
        if mark is Mark.DOTS:
            self.dots = ordered_dots(self._nodes("dot", self.width / 2.0), order=asked.order)
            self.marks["dots"] = len(self.dots)
        if mark is Mark.HOLES and self.hole:
            places = self._nodes("hole", self.hole.widest / 2.0)
            self.marks["holes"] = len(places)
            self.bores += [Bored(layer="holes", at=(x, y), cut=self.hole) for x, y in places.tolist()]
        for dowels in asked.dowels:
            self.bores += self._dowels(dowels)
        count = sum(bore.layer == "dowel_holes" for bore in self.bores)
        if count:
            self.marks["dowels"] = count
        self.bores = toured_bores(self.bores)

    def _dowels(self, dowels: Dowels) -> list[Bored]:
        found = []
        for at, diameter in dowel_places(dowels):
            cut = _dowel_hole(diameter + dowels.fit, dowels.depth, self.asked.table.thickness)
            free, missing = free_nodes(np.array([at]), mark="dowel", radius=cut.diameter / 2.0, ground=self.ground)
            self.left_out += missing
            if free[0]:
                found.append(Bored(layer="dowel_holes", at=at, cut=cut))
        return found

    def _nodes(self, mark: str, radius: float) -> FloatArray:
        points = nodes(self.grid)
        free, missing = free_nodes(points, mark=mark, radius=radius, ground=self.ground)
        self.left_out += missing
        return points[free]

    def nothing_left(self) -> bool:
        """Return whether marks were asked for and all of them were taken away."""
        asked = self.asked
        wanted = asked.pattern.mark is not Mark.NONE
        have = any(cut.layer in ("lines_fine", "lines_major", "crosses") for cut in self.cuts)
        return wanted and not (have or len(self.dots) or any(bore.layer == "holes" for bore in self.bores))


def _line_counts(lines: Sequence[Lines]) -> dict[str, int]:
    """Return how many lines there are each way, and in how many pieces."""
    counts = {
        f"lines_{'xy'[item.axis]}": len(np.unique(np.round(item.strokes[:, 0, 1 - item.axis], 7))) for item in lines
    }
    return {**counts, "pieces": sum(len(item.strokes) for item in lines)} if lines else {}


def _layer(name: str, depth: float) -> CutLine:
    return CutLine(layer=name, points=np.empty((0, 2)), depth=depth)


def _dowel_hole(diameter: float, depth: float, thickness: float) -> HoleCut:
    return HoleCut(
        diameter=diameter, depth=depth, counterbore=None, underside=None, through=depth >= thickness, needed=depth
    )
