"""The checks besides capacity, as the margin answer carries them."""

from dataclasses import replace

import numpy as np

from stillstock.answers.job import job_of
from stillstock.answers.kerfs import with_open_kerfs
from stillstock.answers.margin import Verdict, answer_plain_margin
from stillstock.engine.holding.methods.foam_tape import FoamTape
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.engine.set_up import Bed, Helix, Load, Machine, SetUp, Stock, Tool, ToolKind
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Triple

TABLES = load_tables()

#: Round a square of 200 mm, 0.2 mm into the bed; one shallow pass before.
PROGRAM = """G21 G90 G94
M3 S18000 T1
G0 X100 Y100 Z5
G1 Z-4 F600
X300 F2000
Y300
X100
Y100
Z-12.2 F600
X300 F2000
Y300
X100
Y100
G0 Z5
M30
"""


def job(*holders, key="mdf", size=(0.6, 0.5, 0.012), **more):
    material, board = TABLES.material(key), TABLES.material("mdf")
    assert material is not None
    assert board is not None
    stock = Stock(material=material, size=size, thickness=(size[2], size[2]), origin=(0.0, 0.0, -size[2]))
    bed = Bed(material=board, thickness=0.018, top=-size[2])
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.006, flutes=2, helix=Helix.DOWN)
    return SetUp(stock=stock, bed=bed, holders=holders, tools={1: tool}, **more)


def answered(set_up):
    return answer_plain_margin(set_up, TABLES, limits=Limits(), fingerprint="")


def names(answer):
    return {check.name for check in answer.checks}


def test_a_programs_kerf_lets_the_vacuum_down():
    """The path round a 200 mm square is 800 mm; only the pass that reaches the bed counts.

    Tolerance 4 %: the plunge is no kerf, and the map's cells round the corners.
    """
    blower = Vacuum(pump="regenerative_blower", open_area=0.4)
    set_up = job(blower, program=PROGRAM)
    opened = with_open_kerfs(set_up, job_of(set_up, limits=Limits())).holders[0]
    np.testing.assert_allclose(opened.kerf, 0.8, rtol=0.04)
    assert opened.kerf_width == 0.006
    stated = replace(blower, kerf=3.0)
    kept = job(stated, program=PROGRAM)
    assert with_open_kerfs(kept, job_of(kept, limits=Limits())).holders[0].kerf == 3.0


def test_the_answer_tells_of_give_vacuum_and_power():
    set_up = job(Vacuum(pump="regenerative_blower"), program=PROGRAM, machine=Machine(spindle_power=2200.0))
    answer = answered(set_up)
    assert {"displacement", "vacuum", "smallest_part", "spindle_power"} <= names(answer)
    (power,) = [check for check in answer.checks if check.name == "spindle_power"]
    assert 20.0 < power.value < 2200.0


def test_stock_that_springs_out_lets_go_whatever_its_friction():
    """A thin panel squeezed far beyond its Euler load: no margin against sliding helps it."""
    push = Triple(low=3500.0, typical=4000.0, high=4500.0, dimension="force", source="caller")
    size = (0.6, 0.12, 0.004)
    load = Load(name="hand", at=(0.3, 0.05, 0.0), force=(0.0, 1.0, -2.0))
    clamp = SideClamp(at=(0.0, 0.06), pushes="+x", force=push, height=0.002, stiff_sideways=True)
    set_up = job(clamp, Stop(at=(0.6, 0.06), faces="-x", height=0.004), size=size, loads=(load,))
    answer = answered(set_up)
    assert answer.verdict is Verdict.LETS_GO
    assert "buckling" in answer.summary


def test_a_tight_tolerance_makes_foam_tape_doubtful():
    tape = FoamTape(area=np.array([(0.05, 0.05), (0.55, 0.05), (0.55, 0.45), (0.05, 0.45)]))
    load = Load(name="cut", at=(0.3, 0.2, 0.0), force=(60.0, 20.0, -5.0))
    wide, tight = (answered(job(tape, loads=(load,), tolerance=limit)) for limit in (2e-3, 1e-6))
    assert all(check.ok for check in wide.checks if check.name == "displacement")
    assert tight.verdict in (Verdict.DOUBTFUL, Verdict.LETS_GO)
    assert not any(check.ok for check in tight.checks if check.name == "displacement")
