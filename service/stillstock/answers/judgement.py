"""A set-up judged against its job: the factors, the checks and the verdict, before anything is said about them."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from stillstock.answers.cut_away import cut_away
from stillstock.answers.cut_off import cut_off
from stillstock.answers.hold import (
    PESSIMIST_SLACK,
    Assessed,
    Stance,
    assess,
    pessimistic_readings,
    push_off,
    stance_of,
    typical_reading,
)
from stillstock.answers.job import Job
from stillstock.answers.kerfs import with_open_kerfs
from stillstock.answers.notices import Notice
from stillstock.answers.partly_beside import partly_beside
from stillstock.answers.parts import FreePart, free_parts
from stillstock.engine.checks.all_checks import checks_of
from stillstock.engine.checks.check import Check
from stillstock.engine.checks.worked import Worked
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault, NotInBalance
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["Judgement", "Verdict", "besides", "judgement", "verdict_of"]


class Verdict(StrEnum):
    """The answer in a word."""

    HOLDS = "holds"
    DOUBTFUL = "doubtful"
    LETS_GO = "lets_go"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """What a set-up comes to under its job.

    Attributes
    ----------
    set_up : SetUp
    stance : Stance
        With the kerfs that the job opens.
    stands : bool
        Whether its holders leave it in place before any load, at both ends of their scatter.
    typical, hard : Assessed
        Of the stock as a whole, by typical numbers and by the pessimist's.
    parts : tuple of FreePart
        What comes free during the job.
    checks : tuple of Check
    notices : tuple of Notice
    """

    set_up: SetUp
    stance: Stance
    stands: bool
    typical: Assessed
    hard: Assessed
    parts: tuple[FreePart, ...]
    checks: tuple[Check, ...]
    notices: tuple[Notice, ...]

    @property
    def weakest(self) -> FreePart | None:
        """The part whose typical margin is no greater than that of the stock as a whole, and the least; else None."""
        part = min(self.parts, key=lambda part: part.typical.factor, default=None)
        return part if part is not None and part.typical.factor <= self.typical.factor else None

    @property
    def judged(self) -> Assessed:
        """What the typical margin is that of."""
        return self.typical if self.weakest is None else self.weakest.typical

    @property
    def factor(self) -> float:
        """Typical load factor of the stock and its parts. [-]"""
        return self.judged.factor

    @property
    def pessimistic(self) -> float:
        """The pessimist's load factor of the stock and its parts. [-]"""
        return min([self.hard.factor, *(part.pessimistic.factor for part in self.parts)])

    @property
    def verdict(self) -> Verdict:
        """The answer in a word; what fails by a program that was not all understood is no more than unknown."""
        misread = any(one.doubt and one.pointer == "/program/text" for one in self.notices)
        if any(notice.fails for notice in self.notices) and not misread:
            return Verdict.LETS_GO
        doubt = any(notice.doubt for notice in self.notices)
        return verdict_of(self.factor, self.pessimistic, self.set_up.required, self.checks, doubt=doubt)

    @property
    def programmes(self) -> int:
        """Linear programmes solved for the stock as a whole. [-]"""
        return self.typical.programmes + self.hard.programmes


def _balance(stance: Stance) -> tuple[Check, ...]:
    """Refuse a set-up that does not stand by itself at typical preloads; return a failed check if it may not.

    Raises
    ------
    NotInBalance
        Naming the holder that pushes the stock off.
    """
    found = push_off(stance, typical_reading())
    if found is not None:
        motion, system = found
        pushing = {owner: float(dead @ motion) for owner, dead in system.dead_of.items() if owner >= 0}
        culprit = max(pushing, key=lambda owner: pushing[owner], default=-1)
        kind = stance.set_up.holders[culprit].kind if culprit >= 0 else "weight"
        detail = (
            f"before any cut, the {kind.replace('_', ' ')} pushes the stock off: nothing stands against it there "
            "(a side clamp needs a stop opposite, at its own height)"
        )
        pointer = f"/holders/{culprit}" if culprit >= 0 else "/holders"
        raise NotInBalance([Fault(pointer=pointer, code="not_in_balance", detail=detail)])
    ends = pessimistic_readings(stance.contacts, shaken=1.0)
    if all(push_off(stance, reading) is None for reading in ends):
        return ()
    detail = "at one end of the clamps' scatter they push the stock off by themselves"
    return (
        Check(
            name="balance", holder=None, value=1.0, limit=0.0, typical_ratio=0.0, breaks=True, detail=detail,
            source="own_derivation", dimension="number",
        ),
    )  # fmt: skip


def besides(stance: Stance, job: Job, hard: Assessed, tables: Tables) -> tuple[Check, ...]:
    """Return every check besides capacity, under the load that is hardest for the pessimist."""
    row, loads = hard.worst.place, hard.loads
    x, y, z = loads.tip[row]
    load = wrench(loads.sweep.point[row], hard.worst.force)
    return checks_of(stance.set_up, stance.contacts, tables, load, (float(x), float(y), float(z)), _worked(job))


def _worked(job: Job) -> Worked | None:
    if job.reading is None or job.removal is None:
        return None
    states = [(group.tool, group.engagement, group.feed, group.speed) for group in job.groups]
    return Worked(states=states, moves=job.reading.moves, cutting=job.removal.cutting)


def verdict_of(typical: float, pessimistic: float, required: float, checks: Sequence[Check], *, doubt: bool) -> Verdict:
    """Return the verdict on two load factors, the factor that is asked for, and the checks. [-]"""
    if typical < 1.0 or any(check.fails_outright for check in checks):
        return Verdict.LETS_GO
    if doubt or any(not check.judged for check in checks):
        return Verdict.UNKNOWN
    if typical >= required and pessimistic >= 1.0 and all(check.ok for check in checks):
        return Verdict.HOLDS
    return Verdict.DOUBTFUL


def _not_counted(holder: int, set_up: SetUp, part: str = "") -> Notice:
    """Say that the fasteners of a holder are left out; those of a part count on after the set-up's."""
    first = len(set_up.holders)
    name = f"{set_up.holders[holder].title} {holder + 1}" if holder < first else f"tab or skin {holder - first + 1}"
    where = f" of part {part}" if part else ""
    return Notice(
        code="not_counted",
        detail=(
            f"{name}{where} is not counted on: the others hold longer by themselves than all together until the first "
            "gives; what gives is to come away without a jerk"
        ),
        pointer=f"/holders/{holder}" if holder < first else "/parts",
    )


def _all_not_counted(set_up: SetUp, whole: Sequence[Assessed], parts: Sequence[FreePart]) -> tuple[Notice, ...]:
    found = [_not_counted(holder, set_up) for holder in sorted(frozenset().union(*(one.left_out for one in whole)))]
    for part in parts:
        left_out = part.typical.left_out | part.pessimistic.left_out
        found += [_not_counted(holder, set_up, part.name) for holder in sorted(left_out)]
    return tuple(found)


def judgement(set_up: SetUp, job: Job, tables: Tables) -> Judgement | None:
    """Return what a set-up comes to under its job; None if no load could be reckoned.

    Parameters
    ----------
    set_up : SetUp
    job : Job
        Of the same stock, bed, tools and cuts; its holders may be others.
    tables : Tables

    Raises
    ------
    ImpossibleSetUp
        If a holder cannot stand as stated.
    NotInBalance
        If the holders push the stock off before any cut.
    """
    balance = _balance(stance_of(set_up, tables))
    stance = stance_of(with_open_kerfs(set_up, job), tables)
    shaken = tables.value("friction", "any_pair", "dynamic_factor").typical
    (loads, limited), (hard_loads, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
    if loads is None or hard_loads is None:
        return None
    typical = assess(stance, [typical_reading()], loads)
    hard = assess(stance, pessimistic_readings(stance.contacts, shaken=shaken), hard_loads, slack=PESSIMIST_SLACK)
    parts, unfreed = free_parts(stance, job, tables, loads=loads, hard_loads=hard_loads, shaken=shaken)
    return Judgement(
        set_up=set_up,
        stance=stance,
        stands=not balance,
        typical=typical,
        hard=hard,
        parts=parts,
        checks=(*balance, *besides(stance, job, hard, tables), *(check for part in parts for check in part.checks)),
        notices=(
            *job.notices,
            *limited,
            *unfreed,
            *_all_not_counted(set_up, (typical, hard), parts),
            *cut_away(set_up, stance.contacts, job),
            *partly_beside(set_up, stance.contacts),
            *cut_off(set_up, stance.contacts, job),
        ),
    )
