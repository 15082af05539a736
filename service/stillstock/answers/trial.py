"""A changed set-up, and what it comes to when it is run."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillstock.answers.hold import Assessed
from stillstock.answers.job import Job
from stillstock.answers.parts import FreePart
from stillstock.engine.checks.check import Check
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.set_up import SetUp

__all__ = ["Pull", "Trial", "Variant", "overruns"]


def overruns(checks: Sequence[Check]) -> dict[tuple[str, int | None], float]:
    """Return by what each check that is not ok passes its limit, by its name and holder; the greatest counts. [-]"""
    found: dict[tuple[str, int | None], float] = {}
    for check in checks:
        if not check.ok:
            key = check.name, check.holder
            found[key] = max(found.get(key, 0.0), check.ratio)
    return found


@dataclass(frozen=True, kw_only=True)
class Pull:
    """What pulls at the stock: typical, and at every corner of the band of cutting coefficients."""

    typical: JobSweep
    hard: JobSweep


@dataclass(frozen=True, kw_only=True)
class Variant:
    """A changed set-up.

    Attributes
    ----------
    set_up : SetUp
    job : Job or None
        What pulls at it; None if that is what pulled before.
    """

    set_up: SetUp
    job: Job | None = None


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A set-up as judged.

    Attributes
    ----------
    typical, hard : Assessed
        Of the stock as a whole.
    checks : tuple of Check
    stands : bool
        Whether its holders leave it in place before any load.
    required : float
        Factor that is asked for. [-]
    parts : tuple of FreePart
        What comes free during the job; the margin is theirs where it is less.
    """

    typical: Assessed
    hard: Assessed
    checks: tuple[Check, ...]
    stands: bool
    required: float
    parts: tuple[FreePart, ...] = ()

    @property
    def margin(self) -> float:
        """Typical load factor of the stock and its parts. [-]"""
        return min([self.typical.factor, *(part.typical.factor for part in self.parts)])

    @property
    def pessimistic(self) -> float:
        """The pessimist's load factor of the stock and its parts. [-]"""
        return min([self.hard.factor, *(part.pessimistic.factor for part in self.parts)])

    @property
    def score(self) -> float:
        """How much of what is asked for it reaches; 1 is enough. [-]"""
        return min(self.margin / self.required, self.pessimistic)

    @property
    def stock_reaches(self) -> bool:
        """Whether the stock as a whole reaches what is asked for."""
        return self.typical.factor >= self.required and self.hard.factor >= 1.0

    @property
    def short_parts(self) -> tuple[FreePart, ...]:
        """Parts that do not reach what is asked for."""
        return tuple(
            part for part in self.parts if part.typical.factor < self.required or part.pessimistic.factor < 1.0
        )

    @property
    def shortest(self) -> tuple[Assessed, FreePart | None]:
        """What falls shortest, at the corner at which it does, and the part that it is; None is the stock itself."""
        pairs: list[tuple[float, Assessed, FreePart | None]] = [
            (self.typical.factor / self.required, self.typical, None),
            (self.hard.factor, self.hard, None),
        ]
        for part in self.parts:
            pairs.append((part.typical.factor / self.required, part.typical, part))
            pairs.append((part.pessimistic.factor, part.pessimistic, part))
        _, assessed, shortest = min(pairs, key=lambda pair: pair[0])
        return assessed, shortest

    @property
    def failing(self) -> dict[tuple[str, int | None], float]:
        """By what each check that is not ok passes its limit, by its name and holder. [-]"""
        return overruns(self.checks)

    @property
    def holds(self) -> bool:
        """Whether it holds in full."""
        return self.stands and self.score >= 1.0 and not self.failing and all(check.judged for check in self.checks)
