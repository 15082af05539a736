"""Every check of a set-up, in one row."""

from stillstock.engine.checks.bow import bow
from stillstock.engine.checks.check import Check, of_demands
from stillstock.engine.checks.displacement import displacement
from stillstock.engine.checks.flatness import flatness
from stillstock.engine.checks.peel import creep, peel
from stillstock.engine.checks.sag import bow_left, pod_sag, pull_down, tool_movement
from stillstock.engine.checks.seating import seating
from stillstock.engine.checks.sheet import SheetState, sheet_state
from stillstock.engine.checks.spindle_power import spindle_power
from stillstock.engine.checks.vacuum import fall, smallest_part
from stillstock.engine.checks.vise_lift import vise_lift
from stillstock.engine.checks.worked import Worked
from stillstock.engine.holding.contact_list import demands_of
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["checks_of"]


def _states(
    set_up: SetUp, contacts: Contacts, load: FloatArray | None, at: tuple[float, float, float] | None
) -> tuple[SheetState | None, SheetState | None]:
    force = 0.0 if load is None else float(load[2])
    middle = set_up.stock.plan.mean(axis=0)
    place = at[:2] if at is not None else (float(middle[0]), float(middle[1]))
    worst, usual = (
        sheet_state(set_up, contacts, corner=corner, force=force, at=place) for corner in (Corner.LOW, Corner.TYPICAL)
    )
    return worst, usual


def checks_of(
    set_up: SetUp,
    contacts: Contacts,
    tables: Tables,
    worst_load: FloatArray | None,
    at: tuple[float, float, float] | None,
    program: Worked | None = None,
) -> tuple[Check, ...]:
    """Return everything that can go wrong besides letting go.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
        Of all holders.
    tables : Tables
    worst_load : (6,) array or None
        Wrench on the stock about the origin, of the load under which the margin is least; None where there is none.
        [N, N m]
    at : (3,) tuple or None
        The tool's tip there. [m]
    program : Worked or None
        How and where the program cuts; None without one.

    Returns
    -------
    tuple of Check
        A check that does not apply is not there.
    """
    states = _states(set_up, contacts, worst_load, at)
    return (
        *of_demands(demands_of(set_up, tables)),
        *displacement(set_up, contacts, tables, worst_load, at),
        *bow(set_up, contacts, tables),
        *tool_movement(set_up, states, at),
        *bow_left(set_up, states),
        *pod_sag(set_up, contacts),
        *pull_down(set_up, contacts),
        *peel(set_up, contacts, tables, worst_load, at),
        *creep(set_up, contacts, tables),
        *seating(set_up, contacts, tables),
        *flatness(set_up, contacts, states, program),
        *vise_lift(set_up, tables),
        *fall(set_up, tables),
        *smallest_part(set_up, contacts, tables, worst_load),
        *spindle_power(set_up, () if program is None else program.states),
    )
