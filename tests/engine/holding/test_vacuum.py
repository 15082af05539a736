"""Vacuum as a balance of pump and leaks: printed rules, a hand reckoning, and what can never help."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from stillstock.engine.holding.contacts import Rest
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.engine.holding.vacuum_balance import Pump
from stillstock.engine.mechanics.leakage import RATED_AT, VISCOSITY, between_boards, standard_pressure
from stillstock.engine.set_up import Bed, Cut, CutKind, Direction, Machine, SetUp, Stock, Tool, ToolKind
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Triple

TABLES = load_tables()
SEA = 101_325.0


def band(value):
    return Triple(low=value, typical=value, high=value, dimension="pressure")


def set_up(*holders, size=(1.2, 0.8, 0.018), altitude=0.0, cuts=(), material="birch plywood"):
    mdf, sheet = TABLES.material("mdf"), TABLES.material(material)
    assert mdf is not None
    assert sheet is not None
    stock = Stock(material=sheet, size=size, thickness=(size[2], size[2]), origin=(0.0, 0.0, 0.0))
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.008)
    bed = Bed(material=mdf, thickness=0.019, top=0.0)
    return SetUp(stock=stock, bed=bed, holders=holders, machine=Machine(altitude=altitude), tools={1: tool}, cuts=cuts)


def suction(holder, job):
    (rest,) = holder.contacts(0, job, TABLES)
    assert isinstance(rest, Rest)
    return rest.pressure


def through_cut(length):
    return Cut(
        name="outline",
        kind=CutKind.PROFILE,
        tool=1,
        width=0.008,
        depth=0.018,
        feed=0.05,
        speed=1800.0,
        direction=Direction.CLIMB,
        path=np.array([(0.1, 0.1, 0.0), (0.1 + length, 0.1, 0.0)]),
    )


@pytest.mark.published("vacuum", source="A router builder's page")
def test_vacuum_presses_a_plate_as_printed():
    """22 inHg on 24 x 24 in is 6224 lbf; printed 6336 with half a psi for each inHg. A router builder's page."""
    holder = Vacuum(pressure=band(22.0 * 3386.389))
    job = set_up(holder, size=(24 * 0.0254, 24 * 0.0254, 0.018))
    force = suction(holder, job).typical * 576.0 * 0.0254**2 / 4.4482216
    assert_allclose(force, 6224.0, rtol=1e-3)
    assert_allclose(force, 6336.0, rtol=2e-2)


@pytest.mark.published("vacuum", source="printed in an encyclopaedia")
def test_a_cup_presses_as_printed():
    """Cup of 2 cm radius under 100 kPa: about 130 N, printed in an encyclopaedia. Tolerance: as rounded there."""
    angle = np.linspace(0.0, 2.0 * np.pi, 100, endpoint=False)
    area = 0.02 * np.column_stack([np.cos(angle), np.sin(angle)]) + 0.1
    holder = Vacuum(pressure=band(100e3), area=area)
    (rest,) = holder.contacts(0, set_up(holder), TABLES)
    assert isinstance(rest, Rest)
    x, y = rest.area.T
    size = 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
    assert_allclose(rest.pressure.typical * size, 130.0, rtol=5e-2)


def test_a_board_and_a_pump_balance_where_both_flows_meet():
    """Straight pump curve against Darcy's law, both written out here and solved by scipy's root finder."""
    curve = ((0.0, 200.0 / 3600.0), (40e3, 0.0))
    k, open_area = 2.0e-13, 0.5
    holder = Vacuum(pump_curve=curve, permeability=band(k), open_area=open_area, board_thickness=0.016)
    job = set_up(holder, altitude=900.0)
    outside = standard_pressure(900.0)
    edge = 2.0 * (1.2 + 0.8) * 0.016 / 2.0

    def surplus(v):
        draws = curve[0][1] * (1.0 - v * SEA / outside / 40e3)
        inside = outside - v
        leaks = k * (open_area + edge) * (outside**2 - inside**2) / (2.0 * VISCOSITY * 0.016 * outside)
        return draws - leaks

    expected = brentq(surplus, 0.0, 40e3 * outside / SEA)
    assert_allclose(suction(holder, job).typical, expected, rtol=1e-6)


def test_two_alike_boards_halve_the_fall_of_the_squared_pressure():
    """Darcy's law for a gas (J. Bear 1972, from memory): p^2 falls evenly on the way, so it is the mean there."""
    assert_allclose(between_boards((9e10, 9e10), outside=SEA, inside=50e3) ** 2, (SEA**2 + 50e3**2) / 2.0)
    assert between_boards((np.inf, 9e10), outside=SEA, inside=50e3) == pytest.approx(50e3)


def test_air_comes_through_raw_mdf_and_less_vacuum_is_left_under_it():
    """As above, with a stock that leaks in series with the board: both unknown pressures by scipy's root finder."""
    curve = ((0.0, 400.0 / 3600.0), (40e3, 0.0))
    holder = Vacuum(pump_curve=curve, permeability=band(2.0e-13), board_thickness=0.016)
    job = set_up(holder, material="mdf")
    stock_k = job.stock.material.properties["permeability"].typical
    area, edge = 1.2 * 0.8, 2.0 * (1.2 + 0.8) * 0.016 / 2.0

    def darcy(k, size, thickness, p1, p2):
        return k * size * (p1**2 - p2**2) / (2.0 * VISCOSITY * thickness * SEA)

    def under(inside):
        return brentq(
            lambda p: darcy(stock_k, area, 0.018, SEA, p) - darcy(2.0e-13, area, 0.016, p, inside), inside, SEA
        )

    def surplus(v):
        through = darcy(stock_k, area, 0.018, SEA, under(SEA - v))
        return curve[0][1] * (1.0 - v / 40e3) - through - darcy(2.0e-13, edge, 0.016, SEA, SEA - v)

    vacuum = SEA - under(SEA - brentq(surplus, 0.0, 40e3))
    assert_allclose(suction(holder, job).typical, vacuum, rtol=1e-6)
    assert vacuum < 0.6 * suction(holder, set_up(holder)).typical


@pytest.mark.published("vacuum", source="printed in a vacuum handbook")
def test_a_tight_pod_reaches_the_pumps_end_at_altitude():
    """A pump that makes 24 inHg at sea level makes 17.6 where the air has 22 inHg: printed in a vacuum handbook.

    22 inHg is the air at about 2560 m. Tolerance: the printed digits.
    """
    holder = Vacuum(pump_curve=((0.0, 0.1), (24.0 * 3386.389, 0.05)), seal="gasket")
    job = set_up(holder, altitude=2560.0)
    assert_allclose(standard_pressure(2560.0) / 3386.389, 22.0, rtol=1e-2)
    got = holder.vacuum(job, TABLES, kerf=(0.0, 0.0)).typical
    assert_allclose(got / 3386.389, 17.6, rtol=1e-2)


def test_open_kerfs_of_the_cuts_let_the_vacuum_fall():
    holder = Vacuum(pump="regenerative_blower", open_area=0.3)
    whole, cut = set_up(holder), set_up(holder, cuts=(through_cut(0.9),) * 30)
    assert suction(holder, cut).typical < 0.95 * suction(holder, whole).typical
    stated = Vacuum(pump="regenerative_blower", open_area=0.3, kerf=27.0, kerf_width=0.008)
    assert_allclose(suction(stated, whole).typical, suction(holder, cut).typical, rtol=1e-9)


def test_a_pod_collapses_when_a_kerf_breaks_into_it():
    """A slot of 20 cm2 passes more than a vane pump draws: next to nothing is left. Common practice, no source."""
    holder = Vacuum(pump="rotary_vane_dry", seal="gasket", area=np.array([(0, 0), (0.3, 0), (0.3, 0.2), (0, 0.2)]))
    job = set_up(holder)
    tight, broken = (holder.vacuum(job, TABLES, kerf=(length, 0.008)).typical for length in (0.0, 0.25))
    assert tight > 20 * broken


def test_a_reading_wins_over_the_pump():
    gauge = Vacuum(pressure=band(31e3), pump="venturi", open_area=5.0, kerf=40.0)
    assert suction(gauge, set_up(gauge, altitude=1200.0)).typical == 31e3


def test_without_gauge_and_pump_the_tables_vacuum_is_taken():
    holder = Vacuum()
    assert_allclose(suction(holder, set_up(holder)).typical, 30e3)


def test_zones_of_one_pump_share_it():
    """Two alike pods on one blower, against one pod on half a blower."""
    curve, half = ((0.0, 0.08), (20e3, 0.0)), ((0.0, 0.04), (20e3, 0.0))
    left, right = (
        np.array([(0, 0), (0.3, 0), (0.3, 0.2), (0, 0.2)]),
        np.array([(0.5, 0), (0.8, 0), (0.8, 0.2), (0.5, 0.2)]),
    )
    pods = [Vacuum(pump_curve=curve, seal="gasket", area=area) for area in (left, right)]
    alone = Vacuum(pump_curve=half, seal="gasket", area=left)
    assert_allclose(suction(pods[0], set_up(*pods)).typical, suction(alone, set_up(alone)).typical, rtol=1e-9)


@pytest.mark.parametrize(
    ("holder", "pointer", "code"),
    [
        (Vacuum(pump_curve=((0.0, 0.01), (1e4, 0.02))), "/pump_curve/1", "rising_curve"),
        (Vacuum(pump_curve=((2e4, 0.02), (1e4, 0.01))), "/pump_curve/1", "order"),
        (Vacuum(pump_curve=((2e4, 0.02),)), "/pump_curve", "length"),
        (Vacuum(pressure=band(95e3)), "/pressure", "beyond_the_air"),
    ],
)
def test_what_no_pump_does_is_refused(holder, pointer, code):
    with pytest.raises(ImpossibleSetUp) as caught:
        holder.contacts(0, set_up(holder, altitude=1500.0), TABLES)
    (fault,) = caught.value.faults
    assert (fault.pointer, fault.code) == (pointer, code)


def test_a_flat_curve_is_read_as_a_fixed_volume_of_the_thinned_air():
    """At half the air's pressure a litre at the inlet is half a litre of outside air (Boyle's law)."""
    flat = Pump(vacuum=(0.0, 90e3), flow=(0.02, 0.02))
    assert_allclose(flat.draws(RATED_AT / 2.0, outside=RATED_AT), 0.01, rtol=1e-12)
    steep = Pump(vacuum=(0.0, 40e3, 90e3), flow=(0.02, 0.006, 0.006))
    assert_allclose(steep.draws(20e3, outside=RATED_AT), 0.013, rtol=1e-12)
    inlet = 0.006 / (1.0 - 40e3 / RATED_AT)
    assert_allclose(steep.draws(60e3, outside=RATED_AT), inlet * (1.0 - 60e3 / RATED_AT), rtol=1e-12)


HOLDERS = st.builds(
    Vacuum,
    pump=st.sampled_from(["regenerative_blower", "rotary_vane_dry", "venturi", None]),
    pump_curve=st.sampled_from(
        [
            (),
            ((0.0, 0.05), (20e3, 0.03), (60e3, 0.0)),
            ((0.0, 0.02), (90e3, 0.02)),
            ((0.0, 0.02), (5e3, 0.01), (9e4, 0.01)),
        ]
    ),
    seal=st.sampled_from(["board", "gasket"]),
    open_area=st.floats(0.0, 2.0),
    kerf=st.floats(0.0, 5.0),
)


@settings(max_examples=60, deadline=None)
@given(holder=HOLDERS, low=st.floats(-500.0, 4000.0), more=st.floats(0.0, 1500.0))
def test_altitude_never_raises_vacuum(holder, low, more):
    """Law: thin air weighs less. Tolerance: halving ends at 1e-15 of the range."""
    below, above = (suction(holder, set_up(holder, altitude=h)) for h in (low, low + more))
    for corner in ("low", "typical", "high"):
        assert getattr(above, corner) <= getattr(below, corner) * (1.0 + 1e-9) + 1e-6


@settings(max_examples=60, deadline=None)
@given(holder=HOLDERS, more=st.floats(0.0, 3.0))
def test_longer_kerfs_never_raise_vacuum(holder, more):
    job = set_up(holder)
    before = holder.vacuum(job, TABLES, kerf=(1.0, 0.006))
    after = holder.vacuum(job, TABLES, kerf=(1.0 + more, 0.006))
    assert after.low <= before.low + 1e-6
    assert after.typical <= before.typical + 1e-6
