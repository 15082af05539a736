"""Power that the cuts take from the spindle, against what it has."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.worked import CuttingState
from stillstock.engine.cutting.coefficients import Box, Coefficients
from stillstock.engine.cutting.cut_test import cutting_boxes
from stillstock.engine.cutting.engagement import described_engagements
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import spindle_power as power_at_cutter
from stillstock.engine.set_up import SetUp, Tool
from stillstock.tables.scatter import Corner

__all__ = ["spindle_power"]

#: States of milling, and of plunging, whose power is reckoned in full. [-]
MOST = 12


def _described(set_up: SetUp) -> Iterator[CuttingState]:
    for cut in set_up.cuts:
        tool = set_up.tools.get(cut.tool)
        if tool is not None:
            for engagement in described_engagements(cut, tool):
                yield cut.tool, engagement, cut.feed, cut.speed


def _tangential(box: Box, corner: Corner) -> Coefficients:
    """Return coefficients with the tangential force at one end, all others typical: it alone takes power."""
    values = {name: band.typical for name, band in box.terms.items()}
    return Coefficients(**{**values, "ktc": box.terms["ktc"].at(corner), "kte": box.terms["kte"].at(corner)})


def _power(state: CuttingState, tool: Tool, box: Box, corner: Corner) -> float:
    _, engagement, feed, speed = state
    curve = cut_curve(tool, _tangential(box, corner), engagement, feed=feed, speed=speed)
    return power_at_cutter(curve, speed=speed)


def _estimate(state: CuttingState, tool: Tool, box: Box) -> float:
    """Return roughly the power of a state, by the mean of the linear-edge model over a cylinder's arcs. [W]"""
    _, engagement, feed, speed = state
    chip = 2.0 * np.pi * feed / (abs(speed) * tool.flutes)
    ktc, kte = box.terms["ktc"].typical, box.terms["kte"].typical
    force = sum(
        (arc.high - arc.low) * (ktc * chip * (np.cos(arc.entry) - np.cos(arc.leave)) + kte * (arc.leave - arc.entry))
        for arc in engagement.arcs
    )
    return float(force * tool.flutes / (2.0 * np.pi) * abs(speed) * tool.diameter / 2.0)


def _hardest(states: Sequence[CuttingState], set_up: SetUp, boxes: Mapping[int, Box]) -> list[CuttingState]:
    """Return the states that may take the most power: a long program has thousands, and each curve costs time."""
    known = [state for state in states if state[0] in boxes and state[3] != 0.0]
    milling = [state for state in known if state[1].arcs]
    plunging = [state for state in known if not state[1].arcs]
    milling.sort(key=lambda state: -_estimate(state, set_up.tools[state[0]], boxes[state[0]]))
    plunging.sort(key=lambda state: -state[2])
    return [*milling[:MOST], *plunging[:MOST]]


def spindle_power(set_up: SetUp, program: Sequence[CuttingState] = ()) -> tuple[Check, ...]:
    """Return the greatest power of any cut against what the spindle gives at the cutter.

    Parameters
    ----------
    set_up : SetUp
    program : sequence of CuttingState
        States of cutting that the program runs through, besides the described cuts.

    Returns
    -------
    tuple of Check
        None where the spindle's power or the stock's coefficients are not known, or nothing cuts.
    """
    machine = set_up.machine
    if machine.spindle_power is None:
        return ()
    boxes = cutting_boxes(set_up)
    powers = [
        [_power(state, set_up.tools[state[0]], boxes[state[0]], corner) for corner in (Corner.HIGH, Corner.TYPICAL)]
        for state in _hardest([*_described(set_up), *program], set_up, boxes)
    ]
    if not powers:
        return ()
    limit = machine.spindle_power * machine.efficiency
    return (
        Check(
            name="spindle_power",
            holder=None,
            value=max(power[0] for power in powers),
            limit=limit,
            typical_ratio=max(power[1] for power in powers) / limit,
            breaks=False,
            detail="mean power of the hardest cut at the cutter, against what the spindle gives there",
            source="caller",
            dimension="power",
        ),
    )
