"""Power that the cuts take from the spindle, against what it has."""

from collections.abc import Iterator, Sequence

from stillstock.engine.checks.check import Check
from stillstock.engine.cutting.coefficients import Box, Coefficients, coefficient_box
from stillstock.engine.cutting.engagement import Engagement, described_engagements
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import spindle_power as power_at_cutter
from stillstock.engine.set_up import SetUp, Tool
from stillstock.tables.scatter import Corner

__all__ = ["CuttingState", "spindle_power"]

#: A tool in one state of cutting: its number, engagement, feed [m/s] and spindle speed [rad/s].
CuttingState = tuple[int, Engagement, float, float]


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
    boxes = {number: coefficient_box(set_up.stock.material, tool) for number, tool in set_up.tools.items()}
    powers = []
    for state in (*_described(set_up), *program):
        tool, box = set_up.tools.get(state[0]), boxes.get(state[0])
        if tool is not None and box is not None:
            powers.append(tuple(_power(state, tool, box, corner) for corner in (Corner.HIGH, Corner.TYPICAL)))
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
