"""From contacts to programmes: every way in which the holders may resist, and every doubt that each must survive.

A *way* is one mechanism that may hold (friction with fasteners, or the bond of a tape); the best way counts. Within a
way several *systems* describe what is not known (whether a clamp's push spreads or stays beneath it, which stops
touch); the worst system counts.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from stillstock.engine.holding.contacts import Contacts, Push
from stillstock.engine.holding.drawn import Draws
from stillstock.engine.holding.fasteners import add_fasteners, add_free_fasteners
from stillstock.engine.holding.ground import ground_shape, pad_shape, spreads_stiffly, support_corners
from stillstock.engine.holding.pivots import Pivot, free_pivot, pivots
from stillstock.engine.holding.reading import Reader, Reading
from stillstock.engine.holding.seats import seats
from stillstock.engine.mechanics.alike import standing
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.equilibrium import Equilibrium, Family, Number, PressedArea, System
from stillstock.engine.mechanics.friction_cone import COARSE, Polygon
from stillstock.engine.mechanics.linear_program import least_forces, least_forces_in_each, standing_motion
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import Bed, FloatArray, Stock
from stillstock.tables.scatter import Triple

__all__ = ["FreeSharing", "Way", "WayAtDraws", "finer_system", "free_sharing", "ways", "ways_at_draws"]

BoolArray = NDArray[np.bool_]

GROUND = -1
DOWN = (0.0, 0.0, -1.0)

#: Holders up to which each pad is integrated at four points; of more, each counts at its middle, without a twist of its
#: own: the safe side, and a programme of a size that can be solved.
FEW = 24

#: Vacuum zones up to which each is integrated as finely as a face.
FEW_ZONES = 6

#: More units of force than anything here presses with. [-]
PLENTY = 1e3


@dataclass(frozen=True, kw_only=True)
class Way:
    """One mechanism that may hold the stock, with every system that it must survive.

    Attributes
    ----------
    name : str
        ``"friction"`` or ``"bond"``, with the edge about which fasteners turn the stock.
    systems : tuple of System
    labels : tuple of str
        What each system assumes.
    """

    name: str
    systems: tuple[System, ...]
    labels: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Job:
    """All that building a system needs."""

    contacts: Contacts
    reading: Reader
    ground: BaseGeometry
    corners: FloatArray
    level: float
    thickness: float
    friction: Triple
    scale: Scale
    polygon: Polygon = COARSE
    draws: int = 0

    def equilibrium(self) -> Equilibrium:
        return Equilibrium(self.scale, ground=self.level, polygon=self.polygon)

    @cached_property
    def _seated(self) -> dict[frozenset[int], FloatArray]:
        return {}

    def seated(self, seat: frozenset[int]) -> FloatArray:
        """Return what the clamps alone put on each contact of a seat, reckoned once. (k,) or (k, draws) [N]"""
        if seat not in self._seated:
            self._seated[seat] = _seated_force(self, seat)
        return self._seated[seat]

    @cached_property
    def beneath(self) -> list[PressedArea]:
        return [*_pads(self), *_suction(self)]

    @property
    def mu(self) -> Number:
        """Coefficient of friction between stock and bed. [-]"""
        return self.reading.under(self.friction)

    def push(self, push: Push) -> Number:
        """Return the size of a known push: of a clamp, or the stock's own weight. [N]"""
        return self.reading.weight(push.force) if push.holder < 0 else self.reading.clamping(push.force)

    def stands(self, eq: Equilibrium) -> BoolArray:
        """Return whether the stock stays where it is without any load, at each draw or at the one reading. (n,)"""
        if self.draws:
            return standing(eq.family(self.draws))
        return np.array([standing_motion(eq.system()) is None])

    def least(self, eq: Equilibrium, columns: Sequence[int]) -> FloatArray:
        """Return the least force in each column without any load, (k,) or (k, n). [N]"""
        if self.draws:
            return least_forces_in_each(eq.family(self.draws), columns).T * self.scale.force
        return least_forces(eq.system(), columns) * self.scale.force


def _scale(stock: Stock, contacts: Contacts, level: float) -> Scale:
    center = stock.plan.mean(axis=0)
    pushes = sum(push.force.typical for push in contacts.pushes)
    return Scale(
        reference=(float(center[0]), float(center[1]), level),
        length=float(np.ptp(stock.plan, axis=0).max()),
        force=max(100.0, pushes / 4.0),
    )


def _along(direction: Sequence[float], size: Number) -> FloatArray:
    """Return forces along a direction, (3,) or (n, 3). [N]"""
    forces: FloatArray = np.asarray(size, dtype=float)[..., None] * np.asarray(direction, dtype=float)
    return forces


def _dead_pushes(eq: Equilibrium, job: _Job) -> Number:
    """Put every known push on the stock; return the sum of what presses down. [N]"""
    down: Number = 0.0
    forces = [(push.holder, push.at, _along(push.direction, job.push(push))) for push in job.contacts.pushes]
    forces += [
        (pin.holder, pin.at, _along(DOWN, job.reading.clamping(pin.preload)))
        for pin in job.contacts.pins
        if pin.preload is not None
    ]
    forces += [
        (pressed.owner, (*pressed.area.centroid, job.level), _along(DOWN, pressed.pressure * pressed.area.size))
        for pressed in _suction(job)
    ]
    for owner, at, force in forces:
        eq.dead_load(wrench(at, force), owner=owner)
        down = down - force[..., 2]
    for rub in job.contacts.rubs:
        if rub.preload is not None:
            eq.dead_load(wrench(rub.at, _along(rub.normal, job.reading.clamping(rub.preload))), owner=rub.holder)
    return down


def _toe_friction(eq: Equilibrium, job: _Job) -> None:
    """Let the toes of holders that are stiff sideways rub."""
    flat = np.column_stack([job.polygon.spokes(), np.zeros(job.polygon.sides)])
    for push in job.contacts.pushes:
        if push.friction is not None:
            most = job.reading.sides(push.friction) * job.push(push)
            eq.rubbing_point(push.at, flat, normal=None, mu=0.0, most=most, owner=push.holder)


def _shape(outline: FloatArray) -> BaseGeometry:
    return shapely.Polygon(outline)


def _suction(job: _Job) -> list[PressedArea]:
    return [
        PressedArea(
            area=area,
            pressure=job.reading.suction(rest.pressure),
            mu=job.reading.under(rest.friction or job.friction),
            owner=rest.holder,
        )
        for rest in job.contacts.rests
        for area in plan_areas(_shape(rest.area).intersection(job.ground), order=_fineness(len(job.contacts.rests)))
    ]


def _fineness(zones: int) -> int:
    """Return the points along each side of a vacuum zone: the more there are, the less each one's own twist matters."""
    return 4 if zones <= FEW_ZONES else 2 if zones <= FEW else 1


def _pads(job: _Job) -> list[PressedArea]:
    presses: list[tuple[int, FloatArray, Number]] = [
        (push.holder, push.toe, job.push(push)) for push in job.contacts.pushes if push.toe is not None
    ] + [
        (pin.holder, pin.head, job.reading.clamping(pin.preload))
        for pin in job.contacts.pins
        if pin.head is not None and pin.preload is not None
    ]
    found = []
    for holder, toe, force in presses:
        areas = plan_areas(pad_shape(toe, job.ground, thickness=job.thickness), order=2 if len(presses) <= FEW else 1)
        size = sum(area.size for area in areas)
        found += [PressedArea(area=area, pressure=force / size, mu=job.mu, owner=holder) for area in areas]
    return found


def _pressed(areas: Sequence[PressedArea]) -> Number:
    """Return what areas press on the bed before any load. [N]"""
    total: Number = 0.0
    for pressed in areas:
        total = total + pressed.pressure * pressed.area.size
    return total


def _spread(job: _Job) -> list[PressedArea]:
    suction = _suction(job)
    if suction:
        return suction
    return [PressedArea(area=area, pressure=0.0, mu=job.mu, owner=GROUND) for area in plan_areas(job.ground)]


def _tangent_fan(tangents: Sequence[tuple[float, float, float]], polygon: Polygon) -> FloatArray:
    """Return unit vectors whose hull is the friction polygon in the span of one or two tangents. (k, 3) [-]"""
    axes = np.asarray(tangents, dtype=float)
    return np.concatenate([axes, -axes]) if len(axes) == 1 else polygon.spokes() @ axes


def _rubs(eq: Equilibrium, job: _Job, *, seat: frozenset[int], seated: FloatArray, side_friction: float) -> list[int]:
    """Add pushing sides and stops; return the columns of the stops' normal forces, in the order of the seat."""
    normals = []
    for place, number in enumerate(sorted(seat)):
        rub = job.contacts.rubs[number]
        mu = job.reading.sides(rub.friction) * side_friction
        if rub.preload is not None:
            normal, most = None, mu * job.reading.clamping(rub.preload)
        else:
            normal = int(eq.columns(wrench(rub.at, rub.normal), owner=rub.holder)[0])
            most = mu * seated[place]
            if rub.limit is not None:
                eq.limit(np.array([normal]), np.ones(1), bound=eq.force(job.reading.fasteners(rub.limit)))
        normals.append(-1 if normal is None else normal)
        if rub.tangents:
            eq.rubbing_point(
                rub.at, _tangent_fan(rub.tangents, job.polygon), normal=normal, mu=mu, most=most, owner=rub.holder
            )
    return normals


def _seated_force(job: _Job, seat: frozenset[int]) -> FloatArray:
    """Return what the clamps alone put on each contact of a seat, bed and sides smooth: the least that can be.

    (k,) or (k, draws) [N]
    """
    eq = job.equilibrium()
    _dead_pushes(eq, job)
    _toe_friction(eq, job)  # what it takes, the stops do not get: the least counts
    eq.smooth_supports(job.corners)
    normals = _rubs(eq, job, seat=seat, seated=np.zeros(len(seat)), side_friction=0.0)
    free = [column for column in normals if column >= 0]
    if not free:
        return np.zeros(len(seat))
    least = job.least(eq, free)
    found = np.zeros((len(normals), *least.shape[1:]))
    found[np.array(normals) >= 0] = least
    return found


def _friction(
    job: _Job, presses: Sequence[PressedArea], *, spread: bool, seat: frozenset[int], pivot: Pivot, side: float
) -> Equilibrium:
    """Build the equilibrium of friction and fasteners.

    Parameters
    ----------
    presses : sequence of PressedArea
    spread : bool
        Whether the pressure may rise anywhere (a stiff stock's whole face) or only fall (pads).
    seat : frozenset of int
        Contacts at the sides that touch.
    pivot : Pivot
    side : float
        Factor on the friction of the sides: 0 for the balance before any load. [-]
    """
    eq = job.equilibrium()
    down = _dead_pushes(eq, job)
    _toe_friction(eq, job)
    eq.smooth_supports(pivot.corners)
    increments = eq.pressed_areas(presses, unload_only=not spread)
    if pivot.capped:
        others = eq.smooth_supports(job.corners)
        eq.cap_support(others, increments, total=down - _pressed(presses))
        eq.cap_support(others, increments[:0], total=down - _pressed(job.beneath))
    seated = job.seated(seat) if side > 0.0 else np.zeros(len(seat))
    _rubs(eq, job, seat=seat, seated=seated, side_friction=side)
    add_fasteners(eq, job.reading, pins=job.contacts.pins, over=pivot.twists)
    return eq


def _bond(job: _Job, *, seat: frozenset[int]) -> Equilibrium:
    """Build the equilibrium of bonds: brittle, so that neither friction nor a pin with play counts beside them."""
    eq = job.equilibrium()
    _dead_pushes(eq, job)
    _rubs(eq, job, seat=seat, seated=np.zeros(len(seat)), side_friction=0.0)
    pins = [pin for pin in job.contacts.pins if pin.clearance <= 0.0]
    add_fasteners(eq, job.reading, pins=pins, bonds=job.contacts.bonds)
    return eq


def _presses(job: _Job, *, stiff: bool) -> list[tuple[str, list[PressedArea], bool]]:
    """Give each doubt about where the stock presses on the bed: label, areas, whether spread over the face."""
    spread = ("push spread over the face", _spread(job), True)
    if not _pads(job):
        return [spread]
    beneath = ("push straight beneath the holder", job.beneath, False)
    return [spread, beneath] if stiff else [beneath]


def _job(contacts: Contacts, stock: Stock, bed: Bed, friction: Triple, reading: Reader) -> _Job:
    ground = ground_shape(stock, bed)
    level = stock.origin[2]
    return _Job(
        contacts=contacts,
        reading=reading,
        ground=ground,
        corners=support_corners(ground),
        level=level,
        thickness=stock.thickness[0],
        friction=friction,
        scale=_scale(stock, contacts, level),
    )


def _standing_seats(
    job: _Job, presses: Sequence[PressedArea], *, spread: bool
) -> list[tuple[frozenset[int], BoolArray]]:
    """Return the seats in which the stock stands by itself, all of them if it stands in none, and at which draws."""
    every = seats(job.contacts.rubs)
    if len(every) == 1:
        return [(every[0], np.ones(max(job.draws, 1), dtype=bool))]
    pivot = free_pivot(job.corners)
    stands = np.array(
        [job.stands(_friction(job, presses, spread=spread, seat=seat, pivot=pivot, side=0.0)) for seat in every]
    )
    counts = stands | ~stands.any(axis=0)
    return [(seat, at) for seat, at in zip(every, counts, strict=True) if at.any()]


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """A system to be built: of which way, what it assumes, and at which draws it counts."""

    way: str
    label: str
    build: Callable[[_Job], Equilibrium]
    counts: BoolArray


def _plans(job: _Job, *, stiff: bool, side: float) -> Iterator[_Plan]:
    """Give every system of every way, way by way."""
    presses = _presses(job, stiff=stiff)
    standing = _standing_seats(job, presses[-1][1], spread=presses[-1][2])
    for pivot in pivots(job.contacts.pins, job.corners, level=job.level, scale=job.scale):
        for label, areas, spread in presses:
            for seat, counts in standing:
                build = partial(_friction, presses=areas, spread=spread, seat=seat, pivot=pivot, side=side)
                yield _Plan(way=f"friction{pivot.name}", label=label, build=build, counts=counts)
    if job.contacts.bonds:
        for seat, counts in standing:
            yield _Plan(way="bond", label="bond alone", build=partial(_bond, seat=seat), counts=counts)


def ways(
    contacts: Contacts, *, stock: Stock, bed: Bed, friction: Triple, reading: Reading, side: float = 1.0
) -> tuple[Way, ...]:
    """Return every way in which contacts may hold a stock; the best of them counts for each load.

    Parameters
    ----------
    contacts : Contacts
    stock : Stock
    bed : Bed
    friction : Triple
        Between stock and bed. [-]
    reading : Reading
    side : float
        Factor on the friction of stops and pushing sides; 0 for the balance before any load. [-]
    """
    job = _job(contacts, stock, bed, friction, reading)
    found = []
    for name, plans in groupby(_plans(job, stiff=spreads_stiffly(stock), side=side), key=lambda plan: plan.way):
        every = tuple(plans)
        systems = tuple(plan.build(job).system() for plan in every)
        found.append(Way(name=name, systems=systems, labels=tuple(plan.label for plan in every)))
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class WayAtDraws:
    """One mechanism that may hold the stock, at so many draws of what scatters.

    Attributes
    ----------
    families : tuple of Family
        Its systems, each with a member for each draw.
    counts : tuple of (n,) bool array
        At which draws each of them has to be survived.
    """

    families: tuple[Family, ...]
    counts: tuple[BoolArray, ...]


def ways_at_draws(
    contacts: Contacts, *, stock: Stock, bed: Bed, friction: Triple, draws: Draws
) -> tuple[WayAtDraws, ...]:
    """Return what `ways` returns at every draw: the geometry is reckoned once, and only numbers differ.

    Parameters
    ----------
    contacts : Contacts
    stock : Stock
    bed : Bed
    friction : Triple
        Between stock and bed. [-]
    draws : Draws
    """
    job = replace(_job(contacts, stock, bed, friction, draws), draws=len(draws))
    found = []
    for _, plans in groupby(_plans(job, stiff=spreads_stiffly(stock), side=1.0), key=lambda plan: plan.way):
        every = tuple(plans)
        families = tuple(plan.build(job).family(len(draws)) for plan in every)
        found.append(WayAtDraws(families=families, counts=tuple(plan.counts for plan in every)))
    return tuple(found)


def finer_system(
    contacts: Contacts,
    *,
    stock: Stock,
    bed: Bed,
    friction: Triple,
    reading: Reading,
    which: tuple[str, int],
    polygon: Polygon,
) -> System:
    """Return one system of `ways` anew with another friction polygon: `which` is its way's name and its place there."""
    job = _job(contacts, stock, bed, friction, reading)
    plans = [plan for plan in _plans(job, stiff=spreads_stiffly(stock), side=1.0) if plan.way == which[0]]
    return plans[which[1]].build(replace(job, polygon=polygon)).system()


@dataclass(frozen=True, kw_only=True)
class FreeSharing:
    """A programme in which fasteners share a load at will, so that no way of holding passes it.

    Attributes
    ----------
    system : System
    rows : mapping of int to tuple of int
        Limits that belong to the fasteners of each holder.
    """

    system: System
    rows: Mapping[int, tuple[int, ...]]


def free_sharing(
    contacts: Contacts, *, stock: Stock, bed: Bed, friction: Triple, reading: Reading, side: float = 1.0
) -> FreeSharing:
    """Return what contacts could resist at the very most, whichever of the fasteners count; arguments as `ways`.

    Notes
    -----
    Every doubt is settled in favour of the hold, so that each force that a way allows, with all fasteners or with some
    of them left out, is allowed here too: all corners of the bed push up, each pad takes its push by itself and the
    face takes it besides, every stop touches and rubs on whatever presses it, bond and friction add up.
    """
    job = _job(contacts, stock, bed, friction, reading)
    eq = job.equilibrium()
    _dead_pushes(eq, job)
    _toe_friction(eq, job)
    eq.smooth_supports(job.corners)
    eq.pressed_areas(_spread(job), unload_only=False)
    for pad in _pads(job):
        eq.pressed_areas([pad], unload_only=True)
    every = frozenset(range(len(contacts.rubs)))
    _rubs(eq, job, seat=every, seated=np.full(len(every), PLENTY * job.scale.force), side_friction=side)
    rows = add_free_fasteners(eq, reading, pins=contacts.pins, bonds=contacts.bonds)
    return FreeSharing(system=eq.system(), rows=rows)
