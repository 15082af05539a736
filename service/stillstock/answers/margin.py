"""The main question: will the stock stay still, by what factor, and if not, where and how does it let go?"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.assumptions import assumptions
from stillstock.answers.doubt import Doubt, doubt_of
from stillstock.answers.hold import Assessed, Stance, motion_slope, shares
from stillstock.answers.job import Job, job_of
from stillstock.answers.judgement import Judgement, Verdict, besides, judgement
from stillstock.answers.margin_words import CAUTIONS, summary, with_help
from stillstock.answers.move_margins import MoveMargins, move_margins, move_notices
from stillstock.answers.notices import Notice
from stillstock.answers.part_holding import PartHolding, part_holdings
from stillstock.answers.parts import FreePart
from stillstock.answers.path_margins import PathMargins, cut_margins, of_moves
from stillstock.answers.remedies import remedies
from stillstock.answers.remedy import Remedy
from stillstock.answers.trial import Pull, Trial
from stillstock.answers.trials import Bench
from stillstock.answers.vacuum_course import VacuumCourse, vacuum_courses
from stillstock.answers.wide_ranges import own_test_wanted
from stillstock.engine.checks.check import Check
from stillstock.engine.mechanics.motion import LetGo, let_go
from stillstock.engine.mechanics.work import OutOfWork, budget, left
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import FloatArray, SetUp, Stock
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["HolderShare", "MarginAnswer", "Verdict", "WorstPlace", "answer_margin", "answer_plain_margin"]


@dataclass(frozen=True, kw_only=True)
class WorstPlace:
    """Where the margin is least.

    Attributes
    ----------
    cut : str
        Name of the described cut or load; empty for a program's.
    line : int
        Line of the program; 0 for none.
    at, force : (3,) tuples
        Point and force on the workpiece. [m], [N]
    """

    cut: str
    line: int
    at: tuple[float, float, float]
    force: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class HolderShare:
    """What a holder carries as the stock lets go under the worst load.

    Attributes
    ----------
    holder : int
        Its number; -1 is the bare bed and the stock's own weight.
    kind : str
    share : float
        Part of the resisting work in the let-go motion, all together 1; negative if it helps to push the stock off; 0
        if it is not counted on. [-]
    force : (3,) tuple
        On the stock. [N]
    """

    holder: int
    kind: str
    share: float
    force: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class PartMargin:
    """The margin of a part once it is free.

    Attributes
    ----------
    name : str
    line : int
        Line of the program that frees it; 0 for none.
    share : float
        Part of its outline that is cut. [-]
    typical, pessimistic : float
        Load factors. [-]
    worst : WorstPlace
    let_go : LetGo or None
    holding : PartHolding or None
        The least tabs and skin that hold it; None if that was not sought, or the budget of work was spent before.
    """

    name: str
    line: int
    share: float
    typical: float
    pessimistic: float
    worst: WorstPlace
    let_go: LetGo | None
    holding: PartHolding | None = None


@dataclass(frozen=True, kw_only=True)
class MarginAnswer:
    """Everything that the margin question answers.

    Attributes
    ----------
    summary : str
        One ASCII line of at most 120 characters.
    verdict : Verdict
    typical, pessimistic, required : float
        Load factors; infinite where every load only presses home. [-]
    worst : WorstPlace
    let_go : LetGo or None
        None where nothing pulls the stock off.
    holders : tuple of HolderShare
    checks : tuple of Check
    assumptions : tuple of Triple
    cautions : tuple of str
    warnings : tuple of Notice
    programmes : int
        Linear programmes solved. [-]
    fingerprint : str
    moves : Moves or None
        Of the program, for its picture.
    parts : tuple of PartMargin
        Of what comes free during the job.
    vacuum : tuple of VacuumCourse
        Of each vacuum.
    doubt : Doubt or None
        How sure the margin of the stock as a whole is, if that was asked for.
    each_move : MoveMargins or None
        The margin of every cutting move, if that was asked for; those numbered in `listed` are shown.
    listed : tuple of int
    along : PathMargins or None
        The same for described cuts and given loads too, stretch by stretch, for the picture.
    remedies : tuple of Remedy
        What would help, where the stock does not hold as asked; proved by running it.
    """

    summary: str
    verdict: Verdict
    typical: float
    pessimistic: float
    required: float
    worst: WorstPlace
    let_go: LetGo | None
    holders: tuple[HolderShare, ...]
    checks: tuple[Check, ...]
    assumptions: tuple[Triple, ...]
    cautions: tuple[str, ...]
    warnings: tuple[Notice, ...]
    programmes: int
    fingerprint: str
    moves: Moves | None = None
    parts: tuple["PartMargin", ...] = ()
    vacuum: tuple[VacuumCourse, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    doubt: Doubt | None = None
    each_move: MoveMargins | None = None
    listed: tuple[int, ...] = ()
    along: PathMargins | None = None

    @property
    def reasons(self) -> tuple[str, ...]:
        """What could not be judged, in words."""
        return tuple(_notice_words(one) for one in self.warnings if one.doubt)


def _corners(stock: Stock) -> FloatArray:
    """Return the corners of the stock as a body, (k, 3). [m]"""
    plan = stock.plan
    low = np.column_stack([plan, np.full(len(plan), stock.origin[2])])
    return np.concatenate([low, low + np.array([0.0, 0.0, stock.size[2]])])


#: Shares of the work that is left which the doubt and then the margin of every move may take. Own judgement. [-]
DOUBT, EACH_MOVE = 0.6, 0.5


def _helping(stance: Stance, job: Job, tables: Tables, stated: Trial) -> tuple[Remedy, ...]:
    """Return what would help the stock as a whole."""
    changed = replace(job, set_up=stance.set_up)
    bench = Bench(
        changed,
        tables,
        Pull(typical=stated.typical.loads, hard=stated.hard.loads),
        stated,
        checks=lambda other, assessed, pulling: besides(other, pulling, assessed, tables),
    )
    return remedies(bench)


def _doubt(stance: Stance, job: Job, worst: Sequence[Assessed]) -> tuple[Doubt | None, tuple[Notice, ...]]:
    """Return the margin's distribution, if that was asked for and the work suffices."""
    samples = stance.set_up.doubt
    if not samples:
        return None, ()
    try:
        with budget(DOUBT * left()):
            return doubt_of(stance, job, worst, samples=samples), ()
    except OutOfWork:
        return None, (_spent("no_doubt", "the distribution of the margin", pointer="/doubt/samples"),)


def _spent(code: str, what: str, *, pointer: str) -> Notice:
    detail = f"the work that one request may cost was spent before {what} was known: none is given"
    return Notice(code=code, detail=detail, pointer=pointer)


def _worst_place(assessed: Assessed, job: Job) -> WorstPlace:
    row, loads = assessed.worst.place, assessed.loads
    at, force = loads.tip[row], assessed.worst.force
    return WorstPlace(
        cut=job.name(int(loads.cut[row])),
        line=int(loads.line[row]),
        at=(float(at[0]), float(at[1]), float(at[2])),
        force=(float(force[0]), float(force[1]), float(force[2])),
    )


def _motion(assessed: Assessed, set_up: SetUp) -> LetGo | None:
    slope = motion_slope(assessed)
    return let_go(slope, corners=_corners(set_up.stock)) if np.any(slope) else None


def _part_margin(part: FreePart, job: Job) -> PartMargin:
    return PartMargin(
        name=part.name,
        line=part.line,
        share=part.share,
        typical=part.typical.factor,
        pessimistic=part.pessimistic.factor,
        worst=_worst_place(part.typical, job),
        let_go=_motion(part.typical, part.set_up),
    )


def _kind(owner: int, set_up: SetUp) -> str:
    """Return the kind of a holder by its number; those of a part count on after the set-up's."""
    if owner < 0:
        return "bed"
    return set_up.holders[owner].kind if owner < len(set_up.holders) else "tab or skin"


def _holder_shares(assessed: Assessed, set_up: SetUp) -> tuple[HolderShare, ...]:
    nothing = {owner: (0.0, np.zeros(3)) for owner in assessed.left_out}
    found = nothing | shares(assessed)
    return tuple(
        HolderShare(
            holder=owner,
            kind=_kind(owner, set_up),
            share=share,
            force=(float(force[0]), float(force[1]), float(force[2])),
        )
        for owner, (share, force) in sorted(found.items())
    )


def _place_words(worst: WorstPlace) -> str:
    if worst.line:
        return f"line {worst.line}"
    return f"in {worst.cut}" if worst.cut else "at the stated load"


def _said_first(checks: Sequence[Check], notices: Sequence[Notice]) -> str:
    failed = next((check for check in checks if check.fails_outright), None)
    if failed is not None:
        return f"{_words(failed.name)} fails: {failed.typical_ratio:.1f} times its limit, {failed.ratio:.1f} at worst"
    doubtful = next((notice for notice in sorted(notices, key=lambda one: not one.fails) if notice.doubt), None)
    if doubtful is not None:
        return _notice_words(doubtful)
    beyond = max((check for check in checks if check.judged and not check.ok), key=lambda one: one.ratio, default=None)
    return "" if beyond is None else f"{_words(beyond.name)} may reach {beyond.ratio:.1f} times its limit"


def _notice_words(notice: Notice) -> str:
    return f"line {notice.line}: {notice.detail}" if notice.line else notice.detail


def _words(name: str) -> str:
    return name.replace("_", " ")


def _holding_of(
    weakest: FreePart | None, parts: Sequence[FreePart], holdings: Sequence[PartHolding | None]
) -> PartHolding | None:
    """Return what would hold the part that is the weakest body, if one is."""
    return next((each for part, each in zip(parts, holdings, strict=True) if part is weakest), None)


def _help_words(helping: Sequence[Remedy], holding: PartHolding | None, verdict: Verdict) -> str:
    """Return in a few words what was proved to hold: the first remedy, or tabs and skin of the weakest part."""
    if helping and helping[0].holds:
        return helping[0].short
    if holding is None or verdict is Verdict.HOLDS:
        return ""
    tabs = "" if holding.tabs is None else f"{len(holding.tabs.places)} tabs"
    return " or ".join(filter(None, (tabs, "" if holding.skin is None else "a skin")))


def answer_margin(set_up: SetUp, tables: Tables, *, limits: Limits, fingerprint: str) -> MarginAnswer:
    """Return the margin of a set-up.

    Parameters
    ----------
    set_up : SetUp
    tables : Tables
    limits : Limits
        Of the work that one request may cost.
    fingerprint : str
        Digest of the document and the model's version.

    Raises
    ------
    ImpossibleSetUp
        If a holder cannot stand as stated.
    NotInBalance
        If the holders push the stock off before any cut.
    NothingToJudge
        If nothing pulls at the stock.
    TooMuchWork
        If the program is longer than the limit.
    """
    job = job_of(set_up, limits=limits)
    found = judgement(set_up, job, tables)
    if found is None:
        return _nothing_judged(set_up, job, fingerprint)
    return _with_more(_said(found, job, tables, fingerprint=fingerprint), found, job, tables, limits)


def answer_plain_margin(set_up: SetUp, tables: Tables, *, limits: Limits, fingerprint: str) -> MarginAnswer:
    """Return the margin as `answer_margin` does, without what would help, its doubt and the margin of each move."""
    job = job_of(set_up, limits=limits)
    found = judgement(set_up, job, tables)
    if found is None:
        return _nothing_judged(set_up, job, fingerprint)
    return _said(found, job, tables, fingerprint=fingerprint)


def _with_more(said: MarginAnswer, found: Judgement, job: Job, tables: Tables, limits: Limits) -> MarginAnswer:
    """Return an answer with all that is reckoned on top of its margin: what was asked for first."""
    doubt, unsure = _doubt(found.stance.without(found.typical.left_out), job, (found.typical, found.hard))
    each_move, along, notices = _of_each_move(found, job, limits)
    helping: tuple[Remedy, ...] = ()
    if found.verdict in (Verdict.DOUBTFUL, Verdict.LETS_GO) and not any(one.fails for one in found.notices):
        helping = _helping(found.stance, job, tables, _stated(found))
    holdings = part_holdings(found.stance, found.parts, tables)
    weakest = _holding_of(found.weakest, found.parts, holdings)
    return replace(
        said,
        summary=with_help(said.summary, _help_words(helping, weakest, found.verdict)),
        parts=tuple(replace(part, holding=each) for part, each in zip(said.parts, holdings, strict=True)),
        remedies=helping,
        doubt=doubt,
        warnings=(*said.warnings, *unsure, *notices),
        each_move=each_move,
        listed=() if each_move is None else each_move.listed(limits.listed_moves),
        along=along,
    )


def _stated(found: Judgement) -> Trial:
    return Trial(
        typical=found.typical,
        hard=found.hard,
        checks=found.checks,
        stands=found.stands,
        required=found.set_up.required,
        parts=found.parts,
    )


def _of_each_move(
    found: Judgement, job: Job, limits: Limits
) -> tuple[MoveMargins | None, PathMargins | None, tuple[Notice, ...]]:
    """Return the margin of every move of the program, and along all that is cut, if that was asked for."""
    set_up = found.set_up
    if not set_up.each_move:
        return None, None, ()
    bodies = [found.typical, *(part.typical for part in found.parts)]
    each_move = None
    try:
        with budget(EACH_MOVE * left()):
            if job.reading is not None and job.removal is not None:
                each_move = move_margins(
                    bodies,
                    moves=job.reading.moves,
                    removal=job.removal,
                    required=set_up.required,
                    budget=limits.work // 4,
                )
            along = _along(bodies, set_up, each_move, limits)
    except OutOfWork:
        return None, None, (_spent("no_move_margins", "the margin of every move", pointer="/detail/moves"),)
    return each_move, along, () if each_move is None else move_notices(each_move, most=limits.listed_moves)


def _along(
    bodies: Sequence[Assessed], set_up: SetUp, each_move: MoveMargins | None, limits: Limits
) -> PathMargins | None:
    """Return the margin along all that is cut."""
    found = None if each_move is None or not len(each_move) else of_moves(each_move)
    if not set_up.cuts and not set_up.loads:
        return found
    described = cut_margins(bodies, set_up=set_up, required=set_up.required, budget=limits.work // 4)
    return described if found is None else found.beside(described)


def _said(found: Judgement, job: Job, tables: Tables, *, fingerprint: str) -> MarginAnswer:
    set_up, weakest, judged = found.set_up, found.weakest, found.judged
    worst = _worst_place(judged, job)
    motion = _motion(judged, set_up if weakest is None else weakest.set_up)
    line = summary(
        found.verdict,
        factor=judged.factor,
        required=set_up.required,
        motion=motion,
        place=_place_words(worst),
        first="; ".join(
            filter(None, ("" if weakest is None else f"part {weakest.name}", _said_first(found.checks, found.notices)))
        ),
        pessimistic=found.pessimistic,
    )
    return MarginAnswer(
        summary=line,
        verdict=found.verdict,
        typical=judged.factor,
        pessimistic=found.pessimistic,
        required=set_up.required,
        worst=worst,
        let_go=motion,
        holders=_holder_shares(judged, set_up),
        parts=tuple(_part_margin(part, job) for part in found.parts),
        checks=found.checks,
        vacuum=tuple(vacuum_courses(set_up, found.stance.set_up, job, found.checks, tables)),
        assumptions=assumptions(found.stance, job, tables.value("friction", "any_pair", "dynamic_factor")),
        cautions=CAUTIONS,
        warnings=(*found.notices, *own_test_wanted(set_up, found.stance.contacts)),
        programmes=found.programmes,
        fingerprint=fingerprint,
        moves=None if job.reading is None else job.reading.moves,
    )


def _nothing_judged(set_up: SetUp, job: Job, fingerprint: str) -> MarginAnswer:
    """Return the answer where no load could be reckoned: unknown, with the reasons."""
    reason = _said_first((), job.notices) or "no load could be reckoned"
    return MarginAnswer(
        summary=summary("unknown", factor=math.nan, required=set_up.required, motion=None, place="", first=reason),
        verdict=Verdict.UNKNOWN,
        typical=0.0,
        pessimistic=0.0,
        required=set_up.required,
        worst=WorstPlace(cut="", line=0, at=(0.0, 0.0, 0.0), force=(0.0, 0.0, 0.0)),
        let_go=None,
        holders=(),
        checks=(),
        assumptions=(),
        cautions=CAUTIONS,
        warnings=job.notices,
        programmes=0,
        fingerprint=fingerprint,
    )
