"""The set-up as the engine sees it: frozen dataclasses in SI units."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple

__all__ = [
    "THROUGH",
    "Bed",
    "Clearances",
    "Collet",
    "Cut",
    "CutKind",
    "CutTest",
    "Direction",
    "Edge",
    "FloatArray",
    "Helix",
    "Load",
    "Machine",
    "Material",
    "Part",
    "Puck",
    "Stock",
    "Tool",
    "ToolKind",
]

FloatArray = NDArray[np.float64]

#: How far above the bed or its own skin a cut may stay and still free a part: far less than a skin. [m]
THROUGH = 0.1e-3


class ToolKind(StrEnum):
    """Shape of the cutter, by the trade's word."""

    END_MILL = "end_mill"
    BALL_NOSE = "ball_nose"
    V_BIT = "v_bit"
    DRILL = "drill"
    SURFACING = "surfacing"
    PROBE = "probe"


class Helix(StrEnum):
    """Which way the flutes move the chips, never inferred from the hand of the helix."""

    UP = "up"
    DOWN = "down"
    STRAIGHT = "straight"
    COMPRESSION = "compression"


class Edge(StrEnum):
    """State of the cutting edge."""

    SHARP = "sharp"
    USED = "used"
    DULL = "dull"


class CutKind(StrEnum):
    """Kind of a described cut."""

    SLOT = "slot"
    PROFILE = "profile"
    POCKET = "pocket"
    FACE = "face"
    DRILL = "drill"
    PLUNGE = "plunge"
    ENGRAVE = "engrave"


class Direction(StrEnum):
    """Sense of the feed against the sense of the teeth."""

    CLIMB = "climb"
    CONVENTIONAL = "conventional"


@dataclass(frozen=True, kw_only=True)
class Stock:
    """The workpiece before the first cut.

    Attributes
    ----------
    material : Material
    size : (3,) tuple
        Extent along x, y, z; z is the nominal thickness. [m]
    thickness : (2,) tuple
        Least and greatest measured thickness. [m]
    origin : (3,) tuple
        Lowest corner (least x, y, z) in the work frame. [m]
    grain : float
        Angle from +x to the grain. [rad]
    outline : (n, 2) array or None
        Plan outline in the work frame, counter-clockwise, not closed; None is the full rectangle. [m]
    bow : float
        Rise of the middle over a flat bed, before holding; 0 is flat. [m]
    """

    material: Material
    size: tuple[float, float, float]
    thickness: tuple[float, float]
    origin: tuple[float, float, float]
    grain: float = 0.0
    outline: FloatArray | None = None
    bow: float = 0.0

    @property
    def top(self) -> float:
        """Height of the nominal top face. [m]"""
        return self.origin[2] + self.size[2]

    @property
    def plan(self) -> FloatArray:
        """Plan outline, counter-clockwise, (n, 2). [m]"""
        if self.outline is not None:
            return self.outline
        (x, y, _), (dx, dy, _) = self.origin, self.size
        return np.array([(x, y), (x + dx, y), (x + dx, y + dy), (x, y + dy)])


@dataclass(frozen=True, kw_only=True)
class Bed:
    """What the stock lies on (spoilboard, table, plate).

    Attributes
    ----------
    material : Material
    thickness : float
        Of the spoilboard. [m]
    top : float
        Height of its face in the work frame. [m]
    error : float
        How far the face may be off flat. [m]
    condition : str
        ``"clean"``, ``"dusty"`` or ``"sealed"``.
    friction : Triple or None
        Coefficient between stock and bed from the caller's own test; None takes the table's. [-]
    voids : tuple of (n, 2) arrays
        Plan areas where nothing supports the stock. [m]
    """

    material: Material
    thickness: float
    top: float
    error: float = 0.0
    condition: str = "clean"
    friction: Triple | None = None
    voids: tuple[FloatArray, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Puck:
    """Touch puck or tool setter that stays on the table, a cylinder from the bed up.

    Attributes
    ----------
    at : (3,) tuple
        Middle of its upper face. [m]
    diameter : float
        [m]
    """

    at: tuple[float, float, float]
    diameter: float


@dataclass(frozen=True, kw_only=True)
class Machine:
    """What the machine can do; None where the caller did not say.

    Attributes
    ----------
    z_travel, nose_to_bed : float or None
        Travel of the Z axis; spindle nose to bed at the top of travel. [m]
    park : (3,) tuple or None
        Where the tip of the first tool stands before the first move, and after the last. [m]
    tool_change : (3,) tuple or None
        Where the tip of the first tool stands while tools are changed; None is where it happens to be. [m]
    zero, reference : (3,) tuple or None
        Where the tip of the first tool stands at the machine's own zero, from which G53 counts; where G28 takes it. [m]
    puck : Puck or None
    spindle_power : float or None
        Rated power of the spindle. [W]
    efficiency : float
        Share of it that reaches the cutter. [-]
    push_limit : float or None
        Greatest sideways push of the axes before they stall or lose steps. [N]
    altitude : float
        Height of the shop above the sea. [m]
    rapid, rapid_z : float
        Rates of rapid moves. [m/s]
    envelope : ((3,), (3,)) tuple or None
        Least and greatest tool-tip position in the work frame. [m]
    shoe : tuple or None
        Dust shoe: (diameter, height of its lower edge above the tool tip). [m, m]
    """

    z_travel: float | None = None
    nose_to_bed: float | None = None
    park: tuple[float, float, float] | None = None
    tool_change: tuple[float, float, float] | None = None
    zero: tuple[float, float, float] | None = None
    reference: tuple[float, float, float] | None = None
    puck: Puck | None = None
    spindle_power: float | None = None
    efficiency: float = 0.8
    push_limit: float | None = None
    altitude: float = 0.0
    rapid: float = 0.0833
    rapid_z: float = 0.0333
    envelope: tuple[tuple[float, float, float], tuple[float, float, float]] | None = None
    shoe: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class Collet:
    """Collet nut as a cylinder. [m]"""

    diameter: float
    length: float


@dataclass(frozen=True, kw_only=True)
class Tool:
    """A cutter.

    Attributes
    ----------
    number : int
    kind : ToolKind
    diameter : float
        Of the cutting part at its widest. [m]
    flutes : int
    helix : Helix
    helix_angle : float
        Angle of the flutes to the axis, positive; the sense is in `helix`. [rad]
    up_length : float
        Length of the up-cut part of a compression bit, from the tip. [m]
    tip_angle : float
        Included angle of a V-bit or drill point. [rad]
    tip_diameter : float
        Flat at the tip of a V-bit. [m]
    edge : Edge
    run_out : float
        Total indicated run-out at the edge. [m]
    cutting_length, stickout : float or None
        Length of the edge; tip to collet face. [m]
    shank : float or None
        Diameter of the shank. [m]
    collet : Collet or None
    nose : Collet or None
        Spindle nose above the nut.
    """

    number: int
    kind: ToolKind
    diameter: float
    flutes: int = 2
    helix: Helix = Helix.UP
    helix_angle: float = np.pi / 6
    up_length: float = 0.0
    tip_angle: float = np.pi
    tip_diameter: float = 0.0
    edge: Edge = Edge.USED
    run_out: float = 0.0
    cutting_length: float | None = None
    stickout: float | None = None
    shank: float | None = None
    collet: Collet | None = None
    nose: Collet | None = None


@dataclass(frozen=True, kw_only=True)
class Cut:
    """A described cut.

    Attributes
    ----------
    name : str
    kind : CutKind
    tool : int
        Number of the tool.
    width, depth : float
        Radial width and axial depth of engagement. [m]
    feed : float
        Along the path. [m/s]
    speed : float
        Of the spindle. [rad/s]
    direction : Direction
    path : (n, 3) array
        Tool-tip positions; a single row for a plunge or hole. [m]
    layer : float or None
        Height above the path of all that is cut away in passes of `depth`; None for the one pass. [m]
    """

    name: str
    kind: CutKind
    tool: int
    width: float
    depth: float
    feed: float
    speed: float
    direction: Direction
    path: FloatArray
    layer: float | None = None


@dataclass(frozen=True, kw_only=True)
class CutTest:
    """A slot that the shop cut in this material to see what power it takes.

    Attributes
    ----------
    tool : int
        Number of the tool that cut it.
    depth : float
        Of the slot. [m]
    feed : float
        Along it. [m/s]
    speed : float
        Of the spindle. [rad/s]
    net_power : tuple of float
        Power of the spindle while cutting less that while idling, as read, once or several times. [W]
    date : str
        Day of the test, as the shop writes it.
    """

    tool: int
    depth: float
    feed: float
    speed: float
    net_power: tuple[float, ...]
    date: str = ""


@dataclass(frozen=True, kw_only=True)
class Load:
    """A load that the caller knows.

    Attributes
    ----------
    name : str
    at : (3,) tuple
        Point of attack. [m]
    force : (3,) tuple
        On the workpiece. [N]
    moment : (3,) tuple
        Couple on the workpiece. [N m]
    """

    name: str
    at: tuple[float, float, float]
    force: tuple[float, float, float]
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Clearances:
    """Margins that the shop asks for round what stands on the table; None takes common practice.

    Attributes
    ----------
    over, over_hand_set : float or None
        Above stock and fixed holders; above those whose height depends on the hand that set them. [m]
    beside, around_screws : float or None
        In plan, from the cutter's edge to a holder, and to a screw. [m]
    into_bed : float or None
        How deep a cut may go into the bed. [m]
    """

    over: float | None = None
    over_hand_set: float | None = None
    beside: float | None = None
    around_screws: float | None = None
    into_bed: float | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """A piece that the program cuts free (a slug too).

    Attributes
    ----------
    name : str
    outline : (n, 2) array
        In plan, counter-clockwise, not closed. [m]
    held_by : sequence of holding methods
        Its tabs or skin.
    """

    name: str
    outline: FloatArray
    held_by: Sequence[Any] = ()


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """One job as it stands on the machine.

    Attributes
    ----------
    stock, bed, machine
    tools : mapping of int to Tool
    holders : sequence of holding methods, in the caller's order
    cuts, loads, parts : sequences
    cut_tests : sequence of CutTest
        The shop's own slot tests, none or one a tool.
    program : str or None
        The program's text.
    required : float
        Factor by which the hold must exceed the worst load. [-]
    clearances : Clearances
    feed_override : float
        Factor on every feed of the program, as the machine's knob sets it. [-]
    each_move : bool
        Whether the margin of every move of the program is asked for.
    doubt : int
        Samples from which the margin's distribution is asked for; 0 is none. [-]
    spare : sequence of str
        Kinds of holders that the shop has besides those in use.
    tolerance : float or None
        How far the stock may give way, rise or sag; None takes common practice. [m]
    """

    stock: Stock
    bed: Bed
    machine: Machine = field(default_factory=Machine)
    tools: Mapping[int, Tool] = field(default_factory=dict)
    holders: Sequence[Any] = ()
    cuts: Sequence[Cut] = ()
    loads: Sequence[Load] = ()
    parts: Sequence[Part] = ()
    cut_tests: Sequence[CutTest] = ()
    program: str | None = None
    required: float = 2.0
    clearances: Clearances = field(default_factory=Clearances)
    tolerance: float | None = None
    each_move: bool = False
    feed_override: float = 1.0
    spare: Sequence[str] = ()
    doubt: int = 0
