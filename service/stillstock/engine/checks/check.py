"""One check: a value against its limit, with the ground it stands on."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillstock.engine.holding.demands import Demand

__all__ = ["Check", "Effect", "of_demands"]


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What the value of a check comes to in the work.

    Attributes
    ----------
    name : str
        Constant word: ``"height_error"``, ``"line_width"``, ``"inlay_gap"``.
    value : float
        At its worst end. [SI of `dimension`]
    dimension : str
    """

    name: str
    value: float
    dimension: str


@dataclass(frozen=True, kw_only=True)
class Check:
    """Something that goes wrong besides letting go, and how near it is.

    Attributes
    ----------
    name : str
        Constant word: ``"bolt"``, ``"crush"``, ``"bow"``, ``"sag"``, ``"spindle_power"``, ...
    holder : int or None
        Number of the holder; None for the set-up as a whole.
    value, limit : float
        At the ends that make it worst: the high end of the value, the low end of the limit. [SI of `dimension`]
    typical_ratio : float
        Typical value over typical limit. [-]
    breaks : bool
        Whether failing it lets the stock go, or breaks something.
    detail : str
        One sentence for the person at the machine; where there are `numbers`, ``{0}``, ``{1}`` ... stand for them.
    source : str
        Key of the limit's source, or of the value's.
    dimension : str
        Of value and limit: ``"force"``, ``"pressure"``, ``"length"``, ``"power"``, ``"number"``, ...
    at : (3,) tuple or None
        Where. [m]
    judged : bool
        False if something needed for it is not known; `detail` then says what.
    numbers : tuple of (float, str)
        Value and dimension of each number in `detail`. [SI]
    effects : tuple of Effect
    """

    name: str
    holder: int | None
    value: float
    limit: float
    typical_ratio: float
    breaks: bool
    detail: str
    source: str
    dimension: str
    at: tuple[float, float, float] | None = None
    judged: bool = True
    numbers: tuple[tuple[float, str], ...] = ()
    effects: tuple[Effect, ...] = ()

    @property
    def ratio(self) -> float:
        """Value over limit at the worst ends. [-]"""
        return self.value / self.limit if self.limit > 0.0 else float("inf")

    @property
    def ok(self) -> bool:
        """Whether the worst value stays within the worst limit."""
        return bool(self.value <= self.limit)

    @property
    def fails_outright(self) -> bool:
        """Whether even typical numbers fail, of something that breaks or lets go."""
        return bool(self.breaks and self.typical_ratio > 1.0)


def of_demands(demands: Sequence[Demand]) -> tuple[Check, ...]:
    """Return the check of each demand."""
    return tuple(
        Check(
            name=demand.name,
            holder=demand.holder,
            value=demand.value.high,
            limit=demand.limit.low,
            typical_ratio=demand.value.typical / demand.limit.typical if demand.limit.typical > 0.0 else float("inf"),
            breaks=demand.breaks,
            detail=demand.detail,
            numbers=demand.numbers,
            source=demand.limit.source,
            dimension=demand.limit.dimension,
            at=demand.at,
        )
        for demand in demands
    )
