"""A vise with plain jaws that lets go upward: stock driven down until it is seated, or jaws that bite."""

from dataclasses import replace
from typing import Any

from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.trial import Variant
from stillstock.answers.trials import Bench
from stillstock.engine.holding.methods.vise import BITING

__all__ = ["biting", "seated"]


def seated(bench: Bench) -> Remedy | None:
    """Return the stock driven down in each vise that holds it along its jaws alone."""
    words = (
        "drive the stock down after closing until its parallels sit fast, and state seated: plain jaws hold "
        "nothing down before",
        "the stock seated in the vise",
    )
    return _changed(bench, words, member="seated", value=True)


def biting(bench: Bench) -> Remedy | None:
    """Return serrated jaws in each vise that holds the stock along its jaws alone."""
    words = (
        f"take {BITING[0]} jaws in the vise: their teeth hold down too, but mark the stock",
        f"{BITING[0]} jaws",
    )
    return _changed(bench, words, member="jaw", value=BITING[0])


def _changed(bench: Bench, words: tuple[str, str], *, member: str, value: Any) -> Remedy | None:
    holders = list(bench.job.set_up.holders)
    plain = [i for i, one in enumerate(holders) if one.kind == "vise" and not one.holds_down]
    if not plain:
        return None
    for index in plain:
        holders[index] = replace(holders[index], **{member: value})
    trial = bench.prove(Variant(set_up=replace(bench.job.set_up, holders=tuple(holders))))
    if trial is None or not bench.gains(trial):
        return None
    return Remedy(
        kind=member,
        detail=words[0],
        numbers=(),
        short=words[1],
        changes=tuple(Change(pointer=f"/holders/{index}/{member}", value=value) for index in plain),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )
