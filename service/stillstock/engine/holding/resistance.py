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
from shapely.geometry.base import BaseGeometry

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.fasteners import Reading, add_fasteners, add_free_fasteners
from stillstock.engine.holding.ground import ground_shape, pad_shape, spreads_stiffly, support_corners
from stillstock.engine.holding.pivots import Pivot, free_pivot, pivots
from stillstock.engine.holding.seats import seats
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.equilibrium import Equilibrium, PressedArea, System
from stillstock.engine.mechanics.friction_cone import COARSE, Polygon
from stillstock.engine.mechanics.linear_program import least_forces, standing_motion
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import Bed, FloatArray, Stock
from stillstock.tables.scatter import Triple

__all__ = ["FreeSharing", "Reading", "Way", "finer_system", "free_sharing", "ways"]

GROUND = -1

#: Holders up to which each pad is integrated at four points; of more, each counts at its middle, without a twist of its
#: own: the safe side, and a programme of a size that can be solved.
FEW = 24

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
    reading: Reading
    ground: BaseGeometry
    corners: FloatArray
    level: float
    thickness: float
    friction: Triple
    scale: Scale
    polygon: Polygon = COARSE

    def equilibrium(self) -> Equilibrium:
        return Equilibrium(self.scale, ground=self.level, polygon=self.polygon)

    @cached_property
    def beneath(self) -> list[PressedArea]:
        return [*_pads(self), *_suction(self)]

    def mu(self, friction: Triple) -> float:
        return friction.at(self.reading.strength) * self.reading.shaken

    def preload(self, force: Triple) -> float:
        return force.at(self.reading.preload)

    def strength(self, force: Triple) -> float:
        return force.at(self.reading.strength)


def _scale(stock: Stock, contacts: Contacts, level: float) -> Scale:
    center = stock.plan.mean(axis=0)
    pushes = sum(push.force.typical for push in contacts.pushes)
    return Scale(
        reference=(float(center[0]), float(center[1]), level),
        length=float(np.ptp(stock.plan, axis=0).max()),
        force=max(100.0, pushes / 4.0),
    )


def _dead_pushes(eq: Equilibrium, job: _Job) -> float:
    """Put every known push on the stock; return the sum of what presses down. [N]"""
    down = 0.0
    for push in job.contacts.pushes:
        force = np.asarray(push.direction) * job.preload(push.force)
        eq.dead_load(wrench(push.at, force), owner=push.holder)
        down -= force[2]
    for rub in job.contacts.rubs:
        if rub.preload is not None:
            eq.dead_load(wrench(rub.at, np.asarray(rub.normal) * job.preload(rub.preload)), owner=rub.holder)
    for pin in job.contacts.pins:
        if pin.preload is not None:
            force = np.array([0.0, 0.0, -job.preload(pin.preload)])
            eq.dead_load(wrench(pin.at, force), owner=pin.holder)
            down -= force[2]
    for rest in job.contacts.rests:
        for area in plan_areas(_shape(rest.area).intersection(job.ground)):
            force = np.array([0.0, 0.0, -job.preload(rest.pressure) * area.size])
            eq.dead_load(wrench(np.append(area.centroid, job.level), force), owner=rest.holder)
            down -= force[2]
    return down


def _toe_friction(eq: Equilibrium, job: _Job) -> None:
    """Let the toes of holders that are stiff sideways rub."""
    flat = np.column_stack([job.polygon.spokes(), np.zeros(job.polygon.sides)])
    for push in job.contacts.pushes:
        if push.friction is not None:
            most = job.mu(push.friction) * job.preload(push.force)
            eq.rubbing_point(push.at, flat, normal=None, mu=0.0, most=most, owner=push.holder)


def _shape(outline: FloatArray) -> BaseGeometry:
    return shapely.Polygon(outline)


def _suction(job: _Job) -> list[PressedArea]:
    return [
        PressedArea(
            area=area,
            pressure=job.preload(rest.pressure),
            mu=job.mu(rest.friction or job.friction),
            owner=rest.holder,
        )
        for rest in job.contacts.rests
        for area in plan_areas(_shape(rest.area).intersection(job.ground))
    ]


def _pads(job: _Job) -> list[PressedArea]:
    presses: list[tuple[int, FloatArray, Triple]] = [
        (push.holder, push.toe, push.force) for push in job.contacts.pushes if push.toe is not None
    ] + [(pin.holder, pin.head, pin.preload) for pin in job.contacts.pins if pin.head is not None and pin.preload]
    found = []
    for holder, toe, force in presses:
        areas = plan_areas(pad_shape(toe, job.ground, thickness=job.thickness), order=2 if len(presses) <= FEW else 1)
        size = sum(area.size for area in areas)
        found += [
            PressedArea(area=area, pressure=job.preload(force) / size, mu=job.mu(job.friction), owner=holder)
            for area in areas
        ]
    return found


def _pressed(areas: Sequence[PressedArea]) -> float:
    """Return what areas press on the bed before any load. [N]"""
    return sum(pressed.pressure * pressed.area.size for pressed in areas)


def _spread(job: _Job) -> list[PressedArea]:
    suction = _suction(job)
    if suction:
        return suction
    return [
        PressedArea(area=area, pressure=0.0, mu=job.mu(job.friction), owner=GROUND) for area in plan_areas(job.ground)
    ]


def _tangent_fan(tangents: Sequence[tuple[float, float, float]], polygon: Polygon) -> FloatArray:
    """Return unit vectors whose hull is the friction polygon in the span of one or two tangents. (k, 3) [-]"""
    axes = np.asarray(tangents, dtype=float)
    return np.concatenate([axes, -axes]) if len(axes) == 1 else polygon.spokes() @ axes


def _rubs(eq: Equilibrium, job: _Job, *, seat: frozenset[int], seated: FloatArray, side_friction: float) -> list[int]:
    """Add pushing sides and stops; return the columns of the stops' normal forces, in the order of the seat."""
    normals = []
    for place, number in enumerate(sorted(seat)):
        rub = job.contacts.rubs[number]
        mu = job.mu(rub.friction) * side_friction
        if rub.preload is not None:
            normal, most = None, mu * job.preload(rub.preload)
        else:
            normal = int(eq.columns(wrench(rub.at, rub.normal), owner=rub.holder)[0])
            most = mu * float(seated[place])
            if rub.limit is not None:
                eq.limit(np.array([normal]), np.ones(1), bound=eq.force(job.strength(rub.limit)))
        normals.append(-1 if normal is None else normal)
        if rub.tangents:
            eq.rubbing_point(
                rub.at, _tangent_fan(rub.tangents, job.polygon), normal=normal, mu=mu, most=most, owner=rub.holder
            )
    return normals


def _seated_force(job: _Job, seat: frozenset[int]) -> FloatArray:
    """Return what the clamps alone put on each contact of a seat, bed and sides smooth: the least that can be. [N]"""
    eq = job.equilibrium()
    _dead_pushes(eq, job)
    _toe_friction(eq, job)  # what it takes, the stops do not get: the least counts
    eq.smooth_supports(job.corners)
    normals = _rubs(eq, job, seat=seat, seated=np.zeros(len(seat)), side_friction=0.0)
    free = [column for column in normals if column >= 0]
    least: Iterator[float] = iter(least_forces(eq.system(), free) * job.scale.force if free else [])
    return np.array([next(least) if column >= 0 else 0.0 for column in normals])


def _friction_system(
    job: _Job, presses: Sequence[PressedArea], *, spread: bool, seat: frozenset[int], pivot: Pivot, side: float
) -> System:
    """Build the system of friction and fasteners.

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
    seated = _seated_force(job, seat) if side > 0.0 else np.zeros(len(seat))
    _rubs(eq, job, seat=seat, seated=seated, side_friction=side)
    add_fasteners(eq, job.reading, pins=job.contacts.pins, over=pivot.twists)
    return eq.system()


def _bond_system(job: _Job, *, seat: frozenset[int]) -> System:
    """Build the system of bonds: brittle, so that neither friction nor a pin with play counts beside them."""
    eq = job.equilibrium()
    _dead_pushes(eq, job)
    _rubs(eq, job, seat=seat, seated=np.zeros(len(seat)), side_friction=0.0)
    pins = [pin for pin in job.contacts.pins if pin.clearance <= 0.0]
    add_fasteners(eq, job.reading, pins=pins, bonds=job.contacts.bonds)
    return eq.system()


def _presses(job: _Job, *, stiff: bool) -> list[tuple[str, list[PressedArea], bool]]:
    """Give each doubt about where the stock presses on the bed: label, areas, whether spread over the face."""
    spread = ("push spread over the face", _spread(job), True)
    if not _pads(job):
        return [spread]
    beneath = ("push straight beneath the holder", job.beneath, False)
    return [spread, beneath] if stiff else [beneath]


def _job(contacts: Contacts, stock: Stock, bed: Bed, friction: Triple, reading: Reading) -> _Job:
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


def _standing_seats(job: _Job, presses: Sequence[PressedArea], *, spread: bool) -> list[frozenset[int]]:
    """Return the seats in which the stock stands by itself; all of them if it stands in none."""
    every = seats(job.contacts.rubs)
    if len(every) == 1:
        return list(every)
    pivot = free_pivot(job.corners)
    standing = [
        seat
        for seat in every
        if standing_motion(_friction_system(job, presses, spread=spread, seat=seat, pivot=pivot, side=0.0)) is None
    ]
    return standing or list(every)


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """A system to be built: of which way, and what it assumes."""

    way: str
    label: str
    build: Callable[[_Job], System]


def _plans(job: _Job, *, stiff: bool, side: float) -> Iterator[_Plan]:
    """Give every system of every way, way by way."""
    presses = _presses(job, stiff=stiff)
    standing = _standing_seats(job, presses[-1][1], spread=presses[-1][2])
    for pivot in pivots(job.contacts.pins, job.corners, level=job.level, scale=job.scale):
        for label, areas, spread in presses:
            for seat in standing:
                build = partial(_friction_system, presses=areas, spread=spread, seat=seat, pivot=pivot, side=side)
                yield _Plan(way=f"friction{pivot.name}", label=label, build=build)
    if job.contacts.bonds:
        for seat in standing:
            yield _Plan(way="bond", label="bond alone", build=partial(_bond_system, seat=seat))


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
        systems = tuple(plan.build(job) for plan in every)
        found.append(Way(name=name, systems=systems, labels=tuple(plan.label for plan in every)))
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
    return plans[which[1]].build(replace(job, polygon=polygon))


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
