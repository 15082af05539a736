"""A lopsided stock, some cutters and short programs from which the tests of stock removal are made."""

from dataclasses import replace

import numpy as np

from stillstock.engine.cutting.height_map import height_map
from stillstock.engine.cutting.stock_removal import Removal, remove_stock
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import Bed, Material, Stock, Tool, ToolKind

MDF = Material(key="mdf", title="MDF", family="panel", properties={})
BED = Bed(material=MDF, thickness=0.018, top=-0.018)
# Lopsided on purpose: neither the stock nor its place in the frame has a symmetry.
STOCK = Stock(material=MDF, size=(0.11, 0.07, 0.018), thickness=(0.0176, 0.018), origin=(-0.013, -0.029, -0.018))
RADIUS = 0.003
CELL = 0.0005
MILL = Tool(number=1, kind=ToolKind.END_MILL, diameter=2 * RADIUS)
BALL = Tool(number=2, kind=ToolKind.BALL_NOSE, diameter=0.006)
V_BIT = Tool(number=3, kind=ToolKind.V_BIT, diameter=0.012, tip_angle=np.radians(60.0), tip_diameter=0.0004)
DRILL = Tool(number=4, kind=ToolKind.DRILL, diameter=0.008, tip_angle=np.radians(118.0))
TOOLS = {tool.number: tool for tool in (MILL, BALL, V_BIT, DRILL)}


def path(*points, tool=1, kind=FEED):
    """Moves from point to point."""
    places = np.array(points, dtype=np.float64).reshape(-1, 3)
    n = len(places) - 1
    return Moves(
        line=np.arange(1, n + 1),
        kind=np.full(n, kind),
        start=places[:-1],
        end=places[1:],
        feed=np.full(n, 0.04),
        speed=np.full(n, 1885.0),
        tool=np.full(n, tool),
        known=np.ones(n, dtype=bool),
    )


def joined(*programs):
    """Programs one after the other."""
    names = ("line", "kind", "start", "end", "feed", "speed", "tool", "known")
    return Moves(**{name: np.concatenate([getattr(p, name) for p in programs]) for name in names})


def removed(moves, *, stock=STOCK, cell=CELL, **more) -> Removal:
    return remove_stock(moves, stock, BED, TOOLS, cell=cell, max_cells=2_000_000, **more)


def volume_cut(got, stock=STOCK):
    return height_map(stock, cell=got.map.cell).volume - got.map.volume


def width_at(angle):
    """Radial width of engagement of an arc from the side: ae = R (1 - cos)."""
    return RADIUS * (1.0 - np.cos(angle))


def turned(moves, stock, angle):
    """The whole job, turned about the frame's origin; its stock becomes an outline."""
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([(c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0)])
    plan = stock.plan @ turn[:2, :2]
    low, high = plan.min(axis=0), plan.max(axis=0)
    size = (high[0] - low[0], high[1] - low[1], stock.size[2])
    place = (low[0], low[1], stock.origin[2])
    return (
        replace(moves, start=moves.start @ turn, end=moves.end @ turn),
        replace(stock, outline=plan, size=size, origin=place),
    )


def mirrored(moves, stock):
    """The whole job seen in a mirror across the y axis."""
    flip = np.array([-1.0, 1.0, 1.0])
    plan = (stock.plan * flip[:2])[::-1]
    place = (plan[:, 0].min(), plan[:, 1].min(), stock.origin[2])
    return replace(moves, start=moves.start * flip, end=moves.end * flip), replace(stock, outline=plan, origin=place)


SLOT = path((-0.03, 0.004, -0.004), (0.05, 0.004, -0.004))
ACROSS = path((-0.03, 0.004, -0.004), (0.12, 0.004, -0.004))


def centre_line(got, *, y, values=None):
    """Places and heights (or other values) of the samples within half a cell of a line along x."""
    samples = got.map.samples
    x = got.map.origin[0] + samples.by_row[:, :1] + samples.by_column[:, 0]
    across = got.map.origin[1] + samples.by_row[:, 1:] + samples.by_column[:, 1]
    near = np.abs(across - y) <= got.map.cell / 2.0
    return x[near], (got.low if values is None else values)[near]
