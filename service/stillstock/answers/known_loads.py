"""The loads that were the worst so far, of the stock and of parts that come free, and the places where they act."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import Assessed
from stillstock.answers.job import Job
from stillstock.answers.trial import Pull, Trial
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.sweep import Fan, Sweep
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Corner

__all__ = ["KnownLoads", "worst_alone"]

#: Points nearer to each other than this are one. [m]
SAME_POINT = 1e-9


def worst_alone(assessed: Assessed) -> JobSweep:
    """Return the worst load by itself."""
    place, loads = assessed.worst.place, assessed.loads
    fan = loads.sweep.fans[int(loads.sweep.fan[place])]
    there, _ = loads.sweep.loads(np.array([place]))
    same = np.abs(there.force - assessed.worst.force).max(axis=1) <= 1e-9 * np.abs(there.force).max()
    only = loads.only(np.array([place]))
    alone = Fan(force=fan.force[same], couple=fan.couple[same])
    return replace(only, sweep=replace(only.sweep, fans=(alone,), fan=np.array([0])))


def _together(parts: Sequence[JobSweep]) -> JobSweep:
    """Return single loads as one sweep."""
    return JobSweep(
        sweep=Sweep(
            fans=tuple(part.sweep.fans[0] for part in parts),
            fan=np.arange(len(parts)),
            point=np.concatenate([part.sweep.point for part in parts]),
            heading=np.concatenate([part.sweep.heading for part in parts]),
        ),
        tip=np.concatenate([part.tip for part in parts]),
        cut=np.concatenate([part.cut for part in parts]),
        line=np.concatenate([part.line for part in parts]),
        move=np.concatenate([part.move for part in parts]),
        stretch=np.concatenate([part.stretch for part in parts]),
    )


def _worsts(trial: Trial) -> Iterator[tuple[int, Assessed]]:
    """Give what was worst at both corners, of the stock and of each part that falls short."""
    yield from enumerate((trial.typical, trial.hard))
    for part in trial.short_parts:
        yield from enumerate((part.typical, part.pessimistic))


class KnownLoads:
    """What was worst so far."""

    def __init__(self) -> None:
        """Start with nothing."""
        self._points: list[FloatArray] = []
        self._moves: set[int] = set()
        self._cuts: set[int] = set()
        self._loads: tuple[list[JobSweep], list[JobSweep]] = ([], [])
        self._seen: set[bytes] = set()
        self.parts: set[int] = set()

    def remember(self, trial: Trial) -> bool:
        """Keep a trial's worst loads and their places; return whether any is new."""
        self.parts |= {part.number for part in trial.short_parts}
        new = [self._keep(corner, assessed) for corner, assessed in _worsts(trial)]
        return any(new)

    def _keep(self, corner: int, assessed: Assessed) -> bool:
        place, loads = assessed.worst.place, assessed.loads
        self._moves.add(int(loads.move[place]))
        self._cuts.add(int(loads.cut[place]))
        at = loads.tip[place, :2]
        new = not any(np.abs(at - point).max() < SAME_POINT for point in self._points)
        if new:
            self._points.append(at)
        key = np.round(np.concatenate([[corner], loads.sweep.point[place], assessed.worst.force]), 9).tobytes()
        if key not in self._seen:
            self._seen.add(key)
            self._loads[corner].append(worst_alone(assessed))
            return True
        return new

    def loads(self) -> Pull:
        """Return the worst loads themselves."""
        return Pull(typical=_together(self._loads[0]), hard=_together(self._loads[1]))

    def of(self, job: Job) -> Pull | None:
        """Return what a changed job has at the places of the worst loads; None if it has nothing."""
        few, numbers = self._narrowed(job)
        (typical, _), (hard, _) = few.loads(Corner.TYPICAL), few.loads(Corner.HIGH)
        if typical is None or hard is None:
            return None
        return Pull(typical=self._near(_numbered(typical, numbers)), hard=self._near(_numbered(hard, numbers)))

    def _narrowed(self, job: Job) -> tuple[Job, NDArray[np.int64]]:
        """Return the job without the cuts and moves that were never the worst, and the numbers of what is left."""
        set_up, count = job.set_up, len(job.set_up.cuts)
        numbers = [number for number in range(count) if number in self._cuts]
        given = max(self._cuts) >= count
        kept = replace(
            set_up, cuts=tuple(set_up.cuts[number] for number in numbers), loads=set_up.loads if given else ()
        )
        moves = np.array(sorted(self._moves))
        groups = (replace(group, rows=group.rows[np.isin(group.rows, moves)]) for group in job.groups)
        few = replace(job, set_up=kept, groups=tuple(group for group in groups if len(group.rows)), only=None)
        return few, np.array([*numbers, *range(count, count + len(kept.loads))], dtype=np.int64)

    def _near(self, loads: JobSweep) -> JobSweep:
        """Return the loads at the worst places met so far, at whatever height.

        A part's worst place may lie on the way, where no load of the whole job stands: then all of them.
        """
        at_each = [np.abs(loads.tip[:, :2] - point).max(axis=1) < SAME_POINT for point in self._points]
        if not all(there.any() for there in at_each):
            return loads
        return loads.only(np.any(at_each, axis=0))


def _numbered(loads: JobSweep, numbers: NDArray[np.int64]) -> JobSweep:
    """Return loads with their cuts numbered as in the whole job."""
    known = loads.cut >= 0
    return replace(loads, cut=np.where(known, numbers[np.where(known, loads.cut, 0)] if len(numbers) else -1, -1))
