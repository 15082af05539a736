"""Which facts of the trade apply to a way of holding in a job, before anything is placed."""

from collections.abc import Sequence
from dataclasses import fields

from stillstock.answers.shop import Entry, Question
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.holding.register import methods
from stillstock.engine.set_up import CutKind, Helix, SetUp, ToolKind
from stillstock.tables.suitability import Fact, facts

__all__ = ["applying", "job_words", "measures"]

#: How far above the bed a cut may stay and still count as through. [m]
THROUGH = 1e-5


def measures(set_up: SetUp) -> dict[str, float]:
    """Return the numbers that facts ask for. [SI]"""
    stock = set_up.stock
    return {
        "thickness": stock.size[2],
        "bow": stock.bow,
        "slenderness": min(stock.size[:2]) / stock.size[2],
    }


def job_words(question: Question, loads: JobSweep | None) -> frozenset[str]:
    """Return the words for what a job does and what matters in it.

    Parameters
    ----------
    question : Question
    loads : JobSweep or None
        Every load, for the places that the tip comes to.
    """
    set_up = question.set_up
    found = set(question.matters)
    if not set_up.parts:
        found.add("whole_piece")
    lowest = min((float(cut.path[:, 2].min()) for cut in set_up.cuts), default=float("inf"))
    if loads is not None and set_up.program is not None:
        lowest = min(lowest, float(loads.tip[:, 2].min()))
    if lowest <= set_up.stock.origin[2] + THROUGH:
        found.add("through")
    used = [set_up.tools[cut.tool] for cut in set_up.cuts] or list(set_up.tools.values())
    if any(tool.kind is ToolKind.V_BIT for tool in used) or any(c.kind is CutKind.ENGRAVE for c in set_up.cuts):
        found.add("engrave")
    if any(tool.helix is Helix.UP for tool in used):
        found.add("up_cut")
    return frozenset(found)


def _states(question: Question) -> frozenset[str]:
    bed = question.set_up.bed
    found = {question.underside}
    if bed.condition == "dusty":
        found.add("dusty")
    if bed.condition != "sealed" and bed.material.key in ("mdf", "particleboard"):
        found.add("raw_board")
    return frozenset(found)


def _stated(entry: Entry, name: str) -> object:
    """Return what an entry says of a member, or the method's default."""
    defaults = {item.name: item.default for item in fields(methods()[entry.kind])}  # type: ignore[arg-type]
    return entry.pattern.get(name, defaults.get(name))


def _option(fact: Fact, entry: Entry) -> bool:
    return not fact.option or _stated(entry, fact.option[0]) == fact.option[1]


def applying(entry: Entry, question: Question, words: frozenset[str]) -> Sequence[Fact]:
    """Return the facts that apply to an entry of the shop in this job, in the table's order.

    Parameters
    ----------
    entry : Entry
    question : Question
    words : frozenset of str
        From `job_words`, with ``"alone"`` if it is to hold by itself.
    """
    material, states, numbers = question.set_up.stock.material, _states(question), measures(question.set_up)
    return [
        fact
        for fact in facts()
        if entry.kind in fact.methods
        and _option(fact, entry)
        and (not fact.stock or material.family in fact.stock or material.key in fact.stock)
        and (not fact.state or states.intersection(fact.state))
        and words.issuperset(fact.job)
        and (not fact.measure or fact.least <= numbers[fact.measure] <= fact.most)
    ]
