"""Heights and meetings in words that a machinist reads."""

from collections.abc import Sequence

from stillstock import units
from stillstock.answers.margin_words import in_ascii
from stillstock.engine.clearance.first_and_last import Order, PathNote
from stillstock.engine.clearance.holder_collision import Against, Meeting
from stillstock.engine.clearance.legs import Leg
from stillstock.engine.clearance.obstacles import PUCK, STOCK
from stillstock.engine.clearance.z_budget import ToolBudget
from stillstock.engine.holding.body import Body, Keeping
from stillstock.units import System

__all__ = ["Speaker"]

LONGEST = 120

ORDERS = {
    Order.ACROSS_BEFORE_UP: "it goes across before it goes up: swap the two",
    Order.DOWN_BEFORE_ACROSS: "it goes down before it goes across: swap the two",
    Order.ACROSS_WHILE_UP: "it goes across while still on its way up: first up, then across",
    Order.ACROSS_WHILE_DOWN: "it goes across while already on its way down: first across, then down",
}
LEG_WORDS = {
    Leg.WAY_IN: "way in",
    Leg.BETWEEN_CUTS: "rapid",
    Leg.PROBING: "probing",
    Leg.TOOL_CHANGE: "tool change",
    Leg.WAY_BACK: "way back",
}
ENDS = {"start": "lower", "end": "upper"}


class Speaker:
    """Says lengths in the caller's unit and holders by their place in the list.

    Attributes
    ----------
    system : {"metric", "inch"}
    kinds : sequence of str
        Kind of each holder, in the set-up's order.
    """

    def __init__(self, system: System, kinds: Sequence[str]) -> None:
        self.system = system
        self.kinds = kinds

    def length(self, value: float) -> str:
        """Return a length as a shop would say it: to 0.1 mm, or to a thousandth of an inch."""
        shown = units.present(value, "length", self.system)
        digits = 1 if self.system == "metric" else 3
        text = f"{shown:.{digits}f}".rstrip("0").rstrip(".")
        return f"{'0' if text in ('-0', '') else text} {units.unit_name('length', self.system)}"

    def holder(self, index: int, part: str = "") -> str:
        """Return a holder by its kind and number from 1, with its part: ``the knob of strap clamp 2``."""
        if index in (STOCK, PUCK):
            return "the stock" if index == STOCK else "the touch puck"
        name = f"{self.kinds[index].replace('_', ' ')} {index + 1}"
        return f"the {part.replace('_', ' ')} of {name}" if part else name

    def body(self, body: Body) -> str:
        """Return a body by its holder."""
        return self.holder(body.holder, "" if body.holder == STOCK else body.part)

    def leg(self, leg: Leg) -> str:
        """Return the part of the way as a shop would say it: empty for a cut."""
        return LEG_WORDS.get(leg, "")

    def meeting(self, meeting: Meeting, leg: Leg, order: Order) -> str:
        """Return what a move meets, how deep, and what its order has to do with it."""
        what = f"{self.leg(leg)}: " if self.leg(leg) else ""
        part = meeting.tool_part.replace("_", " ")
        depth = self.length(meeting.depth)
        match meeting.against:
            case Against.HOLDER | Against.PUCK if leg is Leg.PROBING and meeting.tool_part == "cutter":
                said = f"{what}the tool touches {self.holder(meeting.holder, meeting.part)} before what it is to probe"
            case Against.HOLDER | Against.PUCK:
                said = f"{what}{part} meets {self.holder(meeting.holder, meeting.part)}, {depth} deep"
            case Against.STOCK:
                said = f"{what}{part} meets the stock, {depth} deep"
            case Against.BED:
                said = f"{what}goes {depth} into the bed"
            case _:
                axis, _, end = meeting.part.partition("_")
                said = f"{what}goes {depth} beyond the {ENDS[end]} end of {axis.upper()}"
        return f"{said}; {ORDERS[order]}" if order in ORDERS else said

    def note(self, note: PathNote, clearance: float) -> str:
        """Return what is to be said of the way as a whole."""
        low, safe = self.length(note.height), self.length(clearance)
        return {
            "park_unknown": "where the tool is parked is not stated, so the way in is not judged: state machine.park",
            "place_unknown": f"{note.count} move(s) not judged, as their place in the work frame is not known",
            "never_retracts": "the program never lifts the tool above the stock after its first cut",
            "ends_low": f"the program ends at {low}, below the clearance of {safe}: the way back may meet something",
            "tool_change_low": f"the tool is changed at {low}, below the clearance of {safe}",
        }[note.code]

    def height_ruled_by(self, height: float, ruled_by: Body, margin: float) -> str:
        """Return why a height is what it is."""
        why = ", whose height depends on the hand that set it" if ruled_by.keeping is Keeping.HAND_SET else ""
        return f"{self.length(height)}: {self.length(margin)} above {self.body(ruled_by)}{why}"

    def changes(
        self, budget: ToolBudget, *, stickout: float, needed: float, clearance: float, highest: Body
    ) -> tuple[str, ...]:
        """Return what would make a tool fit that does not.

        Parameters
        ----------
        budget : ToolBudget
        stickout, needed : float
            As it is, and the least that still reaches the lowest cut past the stock's top. [m]
        clearance : float
            Height that was asked for. [m]
        highest : Body
            What rules it.
        """
        found = []
        if budget.left < 0.0:
            short = -budget.left
            if stickout - short >= needed:
                found.append(f"let tool {budget.tool} stick out no more than {self.length(stickout - short)}")
            found.append(f"retract no higher than {self.length(clearance - short)}, if the way is clear there")
            if highest.holder != STOCK:
                found.append(f"lower {self.body(highest)} by {self.length(short)}, or hold the stock another way")
            found.append(f"take {self.length(short)} off what lies under the stock")
        if budget.below is not None and budget.below < 0.0:
            found.append(
                f"tool {budget.tool} ends {self.length(-budget.below)} above its lowest cut: let it stick out more"
            )
        return tuple(found)

    def summary(self, verdict: str, *, clearance: float, retract: float, first: str, more: int = 0) -> str:
        """Return the answer in one ASCII line of at most 120 characters.

        Parameters
        ----------
        verdict : str
        clearance, retract : float
            Lowest safe heights. [m]
        first : str
            What must be said before all else.
        more : int
            How many more there are of its kind. [-]
        """
        lead = {"meets": "MEETS: ", "unknown": "could not tell: ", "doubtful": "doubtful: "}.get(verdict, "clear: ")
        rest = f" (and {more} more)" if more else ""
        low = f"clearance {self.length(clearance)}"
        heights = f"{low}, retract {self.length(retract)}"
        if not first:
            return in_ascii(f"{lead}{heights}")
        first = in_ascii(first)
        for tail in (f"{rest}; {heights}", f"{rest}; {low}"):
            if len(lead) + len(first) + len(tail) <= LONGEST:
                return f"{lead}{first}{tail}"
        tail = f"{rest}; {low}"
        return f"{lead}{_shortened(first, LONGEST - len(lead) - len(tail))}{tail}"


def _shortened(text: str, room: int) -> str:
    """Return as many whole clauses of a sentence as there is room for; whole words where no clause fits."""
    # Less than half of the room would be no more than a place in the program.
    ends = (at for at in range(min(room, len(text) - 1), room // 2, -1) if text[at] in ",;:(")
    clause = next((text[:at].rstrip() for at in ends), "")
    return clause or text[: room + 1].rpartition(" ")[0] or text[:room]
