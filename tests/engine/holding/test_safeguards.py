"""What keeps the answer on the safe side: each guard's own number, and the unsafe one that comes without it.

Each test takes its guard out and looks at what the answer would have been; so none of them can pass by chance.
"""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import dblquad
from shapely.geometry import Polygon
from tests.engine.holding.benches import ORIGIN, TABLES, bench, contacts_of, exactly
from tests.engine.holding.benches import factor as factor_of_holders
from tests.engine.holding.slabs import (
    LONG,
    MU,
    THICK,
    TYPICAL,
    WIDE,
    Z0,
    at,
    band,
    bed,
    box,
    clamp,
    factor,
    gathered,
    held,
    screw,
    slab,
    stop,
    strip,
    suction,
    ways_of,
    weight,
)

from stillstock.answers.hold import pessimistic_readings
from stillstock.engine.cutting.job_sweep import given_places, joined
from stillstock.engine.holding import fasteners, resistance
from stillstock.engine.holding.contacts import Bond, Contacts, Rub
from stillstock.engine.holding.ground import ground_shape, pad_shape
from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.seats import seats
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.equilibrium import Equilibrium
from stillstock.engine.mechanics.friction_cone import spokes
from stillstock.engine.mechanics.linear_program import standing_motion
from stillstock.engine.mechanics.sweep import worst_of_sweep
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray, Load
from stillstock.tables.scatter import Corner

TWIST = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 1.0])
UP = (0.0, 0.0, 1.0)
PLENTY = 1e6


def lifted(x: float, y: float) -> FloatArray:
    return wrench(at(x, y, THICK), UP)


# ---- bed pressure ----


def test_free_forces_at_the_corners_would_overrate_the_twist_under_vacuum():
    """mu p times the integral of r dA (scipy's quadrature); forces free to gather at the corners act at the diagonal.

    sqrt(0.15^2 + 0.1^2) over the mean distance of a 0.3 by 0.2 rectangle: 1.86, that is 86 % too much.
    """
    area, pressure = LONG * WIDE, 30e3
    mean = dblquad(lambda y, x: np.hypot(x - LONG / 2, y - WIDE / 2), 0.0, LONG, 0.0, WIDE)[0] / area
    exact = MU * pressure * area * mean
    assert_allclose(factor(gathered(suction(pressure)), TWIST), exact, rtol=0.02)

    eq = Equilibrium(Scale(reference=at(LONG / 2, WIDE / 2, 0.0), length=LONG, force=100.0), ground=Z0)
    eq.dead_load(wrench(at(LONG / 2, WIDE / 2, 0.0), (0.0, 0.0, -pressure * area)), owner=0)
    flat = np.column_stack([spokes(), np.zeros(len(spokes()))])
    for x in (0.0, LONG):
        for y in (0.0, WIDE):
            column = int(eq.columns(wrench(at(x, y, 0.0), UP), owner=-1)[0])
            eq.rubbing_point(at(x, y, 0.0), flat, normal=column, mu=MU, most=PLENTY, owner=-1)
    free = Capacity([[eq.system()]]).at(TWIST).factor
    assert_allclose(free / exact, np.hypot(LONG, WIDE) / 2.0 / mean, rtol=0.02)
    assert free > 1.8 * exact


# ---- pads ----


def test_a_clamps_push_is_not_spread_at_will(monkeypatch):
    """The lesser of field and pad counts for each load: in twist the pad, 5 times less; alone, the field would pass."""
    central = gathered(clamp(1000.0, LONG / 2.0, WIDE / 2.0))
    guarded = factor(central, TWIST)
    monkeypatch.setattr(resistance, "_pads", lambda _job: [])
    assert factor(central, TWIST) > 4.0 * guarded


def test_bowed_and_thin_stock_is_never_credited_with_the_field():
    """Two clamps at the ends of one side: pressing there, not under the whole face; thin stock by its pads only."""
    pair = gathered(clamp(400.0, 0.03, 0.02, holder=0), clamp(400.0, 0.27, 0.02, holder=1))
    names = {
        label: {name for way in ways_of(pair, stock=stock) for name in way.labels}
        for label, stock in (
            ("stiff", slab()),
            ("bowed", slab(bow=0.5e-3)),
            ("thin", slab((LONG, WIDE, LONG / 25.5))),
        )
    }
    assert names["stiff"] == {"push spread over the face", "push straight beneath the holder"}
    assert names["bowed"] == names["thin"] == {"push straight beneath the holder"}


def test_a_pad_never_bears_more_than_its_preload(monkeypatch):
    """F sideways at height h and nothing else: pads that could take more would let the clamped slab gain friction.

    A load that presses down beside the clamp must not raise what the pad rubs: it stays at mu F of the clamp, less
    what tips. Were pads allowed to rise, pressing would help.
    """
    one = gathered(clamp(500.0, 0.1, 0.1))
    press = wrench(at(0.1, 0.1, THICK), (0.7, 0.0, -0.7))
    guarded = factor(one, press)
    rising = resistance._presses

    def free_pads(job, *, stiff):
        return [(label, areas, True) for label, areas, _ in rising(job, stiff=stiff)]

    monkeypatch.setattr(resistance, "_presses", free_pads)
    assert factor(one, press) > 1.3 * guarded
    assert guarded <= MU * 500.0 / 0.7 + 1e-9


# ---- free normals carry no friction ----


def opposed() -> Contacts:
    """Two stops face to face that would also rub upright, the slab's weight, and no clamp."""
    ends = [stop(at(x, 0.11, 0.009), (n, 0.0, 0.0), lift=True, holder=h) for x, n, h in ((0, 1.0, 1), (LONG, -1.0, 2))]
    return gathered(weight(20.0, 0.14, 0.1), *ends)


def test_two_opposite_stops_without_a_clamp_hold_nothing_down(monkeypatch):
    """Lift about the line through the stops: the weight alone, 20 N. Free normals would wedge it without limit."""
    load = lifted(0.14, 0.1)
    assert_allclose(factor(opposed(), load), 20.0, rtol=1e-6)
    monkeypatch.setattr(resistance, "_seated_force", lambda _job, seat: np.full(len(seat), PLENTY))
    assert factor(opposed(), load) > 1e4


def test_a_clamped_stop_rubs_no_more_than_what_the_clamp_puts_on_it(monkeypatch):
    """A pull at the stop, about the far edge: mu N0 = 0.2 x 300 N of friction there and half of 20 N, 70 N in all.

    The pull also pushes at the stop, with 5 N for each newton of lift: without the cap its friction would grow with it.
    """
    tip = Rub(
        holder=0,
        at=at(LONG, 0.1, 0.009),
        normal=(-1.0, 0.0, 0.0),
        friction=exactly(0.2),
        preload=exactly(300.0),
        tangents=((0.0, 1.0, 0.0), UP),
    )
    squeezed = gathered(weight(20.0, 0.15, 0.1), tip, stop(at(0.0, 0.1, 0.009), (1.0, 0.0, 0.0), lift=True))
    load = wrench(at(0.0, 0.1, 0.009), (-5.0, 0.0, 1.0))
    assert_allclose(factor(squeezed, load), 0.2 * 300.0 + 10.0, rtol=1e-6)
    monkeypatch.setattr(resistance, "_seated_force", lambda _job, seat: np.full(len(seat), PLENTY))
    assert factor(squeezed, load) > 1e4


def test_the_shear_of_tape_on_a_stop_does_not_raise_the_lift(monkeypatch):
    """A lift at the edge of a tape of width a that bears 150 N in all: F / A (1 + (a/2) (a/2) / (a^2/12)) = 4 F / A.

    So 37.5 N, with or without stops at that edge that would rub upright on what the tape's shear pressed on them.
    """
    tape = strip(0.05, force=150.0, width=0.1, shear=50e3)
    block = [stop(at(0.0, y, 0.009), (1.0, 0.0, 0.0), mu=0.4, lift=True, holder=h) for y, h in ((0.03, 1), (0.17, 2))]
    load = wrench(at(0.0, 0.1, 0.009), UP)
    assert_allclose(factor(gathered(tape), load), 37.5, rtol=1e-9)
    assert_allclose(factor(gathered(tape, *block), load), 37.5, rtol=1e-6)
    real = resistance._rubs

    def rubbing(eq, job, *, seat, **_guards):
        return real(eq, job, seat=seat, seated=np.full(len(seat), PLENTY), side_friction=1.0)

    monkeypatch.setattr(resistance, "_rubs", rubbing)
    assert factor(gathered(tape, *block), load) > 100.0


# ---- seats ----


def test_a_proud_middle_stop_lets_the_slab_turn_about_it(monkeypatch):
    """Three stops in a line at 0.03, 0.1 and 0.17 across, pressed home by 200 N opposite the middle one.

    On all three, 200 N at arms of 0.07 m give 14 N m. On the middle one alone nothing but the weight's friction on the
    bed is left, mu W times the mean distance: 0.3 x 12 N x 0.097 m = 0.35 N m at the most.
    """
    push = Rub(
        holder=0, at=at(LONG, 0.1, 0.009), normal=(-1.0, 0.0, 0.0), friction=exactly(0.2), preload=exactly(200.0)
    )
    line = [stop(at(0.0, y, 0.009), (1.0, 0.0, 0.0), mu=0.0, group="+x", holder=1) for y in (0.03, 0.1, 0.17)]
    job = gathered(weight(12.0, 0.15, 0.1), push, *line)
    guarded = factor(job, TWIST)
    mean = dblquad(lambda y, x: np.hypot(x - LONG / 2, y - WIDE / 2), 0.0, LONG, 0.0, WIDE)[0] / (LONG * WIDE)
    assert_allclose(guarded, MU * 12.0 * mean, rtol=0.02)
    monkeypatch.setattr(resistance, "seats", lambda rubs: (frozenset(range(len(rubs))),))
    everything = factor(job, TWIST)
    assert_allclose(everything, 200.0 * 0.07 + MU * 12.0 * mean, rtol=0.02)


def test_two_stops_in_a_line_and_stops_on_other_sides_all_touch():
    """A straight edge meets two points; a second side meets its own. Plane geometry."""
    line = [stop(at(0.0, y, 0.009), (1.0, 0.0, 0.0), group="+x") for y in (0.03, 0.17)]
    other = stop(at(0.1, 0.0, 0.009), (0.0, 1.0, 0.0), group="+y")
    assert seats([*line, other]) == (frozenset({0, 1, 2}),)


def test_of_four_stops_any_pair_touches_or_one_between_others():
    """Six pairs and the two inner ones alone; the outer ones never alone, for then the others bar the turn."""
    line = [stop(at(0.0, y, 0.009), (1.0, 0.0, 0.0), group="+x") for y in (0.17, 0.02, 0.06, 0.11)]
    found = set(seats(line))
    pairs = {frozenset({i, j}) for i in range(4) for j in range(i)}
    assert found == pairs | {frozenset({2}), frozenset({3})}


# ---- toe and side friction ----


def test_a_toe_rubs_only_where_its_clamp_cannot_swing():
    """Coulomb: mu N on the bed alone, or mu N and mu' N under the toe besides."""
    set_up = bench()
    place = (ORIGIN[0] + 0.15, ORIGIN[1] + 0.1)
    swinging, keyed = (
        StrapClamp(at=place, preload=exactly(700.0), friction=exactly(0.2, "number"), stiff_sideways=stiff)
        for stiff in (False, True)
    )
    pressed = 700.0 * 4.0 / 7.0  # bolt 30 mm from the toe, 40 mm from the heel: lever
    resisted = (*place, ORIGIN[2] + 0.018 * 0.2 / 0.5)  # where bed (0.3) and toe (0.2) together resist
    loose, stiff = (
        factor_of_holders([holder], set_up, at=resisted, force=(1.0, 0.0, 0.0)) for holder in (swinging, keyed)
    )
    assert loose <= 0.3 * pressed * (1.0 + 1e-9)
    assert_allclose(stiff, (0.3 + 0.2) * pressed, rtol=1e-6)


def test_no_stop_and_no_side_clamp_claims_friction_against_lift():
    """Side friction is not proved to hold against lift: 12 N of weight are all that a squeeze of 500 N holds."""
    set_up = bench()
    y = ORIGIN[1] + 0.1
    tip = SideClamp(at=(ORIGIN[0] + 0.3, y), pushes="-x", force=exactly(500.0), height=0.006, stiff_sideways=True)
    ends = [Stop(at=(ORIGIN[0], y + off), faces="+x", height=0.012) for off in (-0.07, 0.07)]
    held_by: list[HoldingMethod] = [tip, *ends]
    for holder in held_by:
        for contact in holder.contacts(0, set_up, TABLES):
            assert isinstance(contact, Rub)
            assert all(tangent[2] == 0.0 for tangent in contact.tangents)
    middle = (ORIGIN[0] + 0.15, y, ORIGIN[2])
    got = factor_of_holders(held_by, set_up, at=middle, force=UP, weight=12.0)
    assert_allclose(got, 12.0, rtol=1e-6)
    rubbing = contacts_of(held_by, set_up, weight=12.0)
    upright = replace(rubbing, rubs=tuple(replace(rub, tangents=(*rub.tangents, UP)) for rub in rubbing.rubs))
    assert factor(upright, wrench(middle, UP), stock=set_up.stock) > 100.0


# ---- balance first ----


def above_its_stop(low: float, high: float) -> Contacts:
    """Return a side clamp 12 mm up against a stop 6 mm up; 14 N of weight act 0.1 m from the stop."""
    tip = Rub(
        holder=0,
        at=at(LONG, 0.1, 0.012),
        normal=(-1.0, 0.0, 0.0),
        friction=exactly(0.3),
        preload=band(low, (low + high) / 2.0, high),
        tangents=((0.0, 1.0, 0.0), UP),
    )
    return gathered(weight(14.0, 0.06, 0.1), tip, stop(at(0.0, 0.1, 0.006), (1.0, 0.0, 0.0), mu=0.3, lift=True))


def stands(contacts: Contacts, reading: Reading, *, side: float = 0.0) -> bool:
    return any(
        all(standing_motion(system) is None for system in way.systems)
        for way in ways_of(contacts, reading=reading, side=side)
    )


@pytest.mark.parametrize(("force", "expected"), [(100.0, True), (139.0, True), (141.0, False), (200.0, False)])
def test_a_side_clamp_above_its_stop_tips_the_slab_beyond_a_force(force, expected):
    """Balance about the edge by the stop: P (12 - 6) mm = 14 N x 60 mm, so P = 140 N."""
    assert stands(above_its_stop(force, force), TYPICAL) is expected


def test_the_balance_is_judged_at_the_low_and_the_high_end_of_the_preload():
    """Between 100 and 200 N it stands at the low end alone; a look at that end only would let it pass."""
    job = above_its_stop(100.0, 200.0)
    readings = pessimistic_readings(job, shaken=1.0)
    assert [reading.preload for reading in readings] == [Corner.LOW, Corner.HIGH]
    assert [stands(job, reading) for reading in readings] == [True, False]


def test_side_friction_does_not_count_in_the_balance():
    """Upright friction at tip and stop, 0.3 of 200 N each, would hold the slab down though the squeeze throws it up."""
    job = above_its_stop(200.0, 200.0)
    assert not stands(job, TYPICAL)
    assert stands(job, TYPICAL, side=1.0)


# ---- loads that help ----


def test_a_loads_pressing_part_is_not_relied_on():
    """(F, 0, -2 F) presses more than it pulls: mu (W + 2 F) > F without end. Its pull alone is held up to mu W."""
    capacity = Capacity([way.systems for way in ways_of(gathered(weight(100.0, 0.14, 0.1)), mu=0.6)])
    place, force = at(0.14, 0.1, 0.0), (1.0, 0.0, -2.0)
    sweep = joined(given_places([Load(name="down-cut", at=place, force=force)], start=0)).sweep
    assert capacity.at(wrench(place, force)).factor == np.inf
    assert_allclose(worst_of_sweep(capacity, sweep).worst.factor, 60.0, rtol=1e-9)


# ---- bonds, pins and friction ----


def tape(*, shear: float = 1e5) -> Bond:
    """Return a square of tape that bears 1000 N in shear."""
    return Bond(
        holder=3,
        area=box(0.05, 0.05, 0.15, 0.15),
        height=Z0,
        shear=exactly(shear),
        tension=exactly(1e5),
        shear_stiffness=1e9,
        tension_stiffness=3e9,
    )


def test_a_bond_and_friction_are_the_larger_and_not_the_sum():
    """Tape of 1000 N, a clamp that rubs 300 N on the bed and up to 200 N under a stiff toe: 1000 N, not 1500."""
    along = wrench(at(0.1, 0.1, 0.0), (1.0, 0.0, 0.0))
    rubs = clamp(1000.0, 0.1, 0.1, friction=0.2)
    alone = factor(gathered(rubs), along)
    assert 300.0 <= alone <= 500.0
    assert_allclose(factor(gathered(tape(), rubs), along), 1000.0, rtol=1e-6)
    weak = factor(gathered(tape(shear=1e4), rubs), along)
    assert_allclose(weak, alone, rtol=1e-6)


def test_a_screw_with_play_does_not_help_the_tape():
    """Tape lets go before the hole is taken up: 1000 N with the loose screw as without; a snug one shares by stiffness.

    The tape's 1e9 x 0.01 N/m to the screw's 1e6: of 1100 N the tape has 1000, the screw 100 of its 200.
    """
    along = wrench(at(0.1, 0.1, 0.0), (1.0, 0.0, 0.0))
    loose, snug = (screw(0.1, 0.1, preload=0.0, clearance=play, holder=4) for play in (0.5e-3, 0.0))
    assert_allclose(factor(gathered(tape(), loose), along), 1000.0, rtol=1e-6)
    assert_allclose(factor(gathered(tape(), snug), along), 1100.0, rtol=1e-6)


def test_strips_of_tape_do_not_share_a_lift_at_will(monkeypatch):
    """120 N by one rigid motion (see the closed form with the bed's tests), 150 N if each strip took what suits.

    The guard is taken out by giving every strip a motion of its own: then all bear their 100 N at any ratio, and the
    balance about the first strip is F = (100 x 1/2 + 100) N = 150 N.
    """
    inset = 1e-4
    strips = gathered(*(strip(x, force=100.0, holder=i) for i, x in enumerate((inset, LONG / 2.0, LONG - inset))))
    edge = wrench(at(LONG, WIDE / 2.0, 0.0), UP)
    assert factor(strips, edge) < 125.0
    together = fasteners.add_fasteners

    def apart(eq, reading, *, pins=(), bonds=(), over=None):
        for bond in bonds:
            together(eq, reading, bonds=[bond], over=over)
        together(eq, reading, pins=pins, over=over)

    monkeypatch.setattr(resistance, "add_fasteners", apart)
    assert_allclose(factor(strips, edge), 150.0, rtol=2e-3)


def test_a_screw_never_bears_more_than_its_pull_out_in_all():
    """Preload and lift use one thread: 1000 N against a straight lift, whether the head presses 0, 300 or 900 N."""
    for preload in (0.0, 300.0, 900.0):
        one = gathered(screw(0.1, 0.1, preload=preload))
        assert_allclose(factor(one, wrench(at(0.1, 0.1, 0.0), UP)), 1000.0, rtol=1e-6)


def test_shear_and_pull_of_a_screw_add_up_on_a_line():
    """F_s / 200 + (F_l + preload's part) / 1000 <= 1: straight interaction. Lift and shear together, no preload.

    1 / (1 / 1000 + 0.5 / 200) = 285.7 N; without the interaction it would be 400 N.
    """
    one = gathered(screw(0.1, 0.1, preload=0.0))
    assert_allclose(factor(one, wrench(at(0.1, 0.1, 0.0), (0.5, 0.0, 1.0))), 1.0 / (1e-3 + 0.5 / 200.0), rtol=1e-6)


def test_two_screws_are_not_loaded_at_will_with_the_bed_as_a_heel():
    """1506 N by one motion about the far edge (closed form with the bed's tests); 1700 N if the bed could press there
    while both screws stretch as suits them."""
    pair = gathered(screw(0.04, 0.1, holder=0), screw(0.22, 0.1, holder=1))
    assert factor(pair, lifted(0.1, 0.1)) < 1510.0


# ---- pads are cut with what supports there ----


def test_a_clamp_over_a_void_presses_only_what_supports_it():
    """Half of the pad over a void leaves half of its area, plane geometry; a clamp wholly over the void has no pad."""
    over = Polygon(slab().plan)
    ground = ground_shape(slab(), bed(box(0.1, -0.01, 0.22, 0.21)))
    toe = box(0.085, 0.09, 0.115, 0.11)
    whole, half = (pad_shape(toe, shape, thickness=THICK) for shape in (over, ground))
    assert_allclose(half.area, whole.area / 2.0, rtol=1e-9)
    assert pad_shape(box(0.145, 0.09, 0.175, 0.11), ground, thickness=THICK).is_empty
    assert_allclose(sum(area.size for area in plan_areas(half)), half.area, rtol=1e-12)


def test_two_clamps_govern_by_name_of_their_pads():
    """The label of what governs says so: in a twist about the middle the pads beneath, never the field."""
    pair = gathered(clamp(400.0, 0.13, 0.1, holder=0), clamp(400.0, 0.17, 0.1, holder=1))
    found = ways_of(pair)
    worst = held(pair, TWIST)
    assert found[worst.way].labels[worst.system] == "push straight beneath the holder"
