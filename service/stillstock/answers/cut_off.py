"""Pieces that the job cuts off the stock, of which nobody said what holds them."""

from collections.abc import Iterator, Sequence

import numpy as np

from stillstock.answers.job import Job
from stillstock.answers.notices import Notice
from stillstock.engine.cutting.pieces import Piece, pieces_of_cuts, pieces_of_program
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["cut_off"]


def cut_off(set_up: SetUp, contacts: Contacts, job: Job) -> Iterator[Notice]:
    """Give a notice for pieces that come free and that no stated part accounts for: the verdict is unknown then.

    The margin of the whole stock is that of one body. Once it is cut apart, that is true of the piece alone that the
    holders hold; any other is held by its tabs, or by what lies under it, which only a part can state. Waste that lies
    all round is left out: it can be stated by nobody.
    """
    if job.removal is not None and job.reading is not None:
        for loose, held in _unstated(pieces_of_program(job.removal), set_up, contacts):
            line = min(int(job.reading.moves.line[one.freed]) for one in loose)
            yield _notice(len(loose), "comes free here", "come free, the first here,", held=held, line=line)
    for loose, held in _unstated(pieces_of_cuts(set_up), set_up, contacts):
        name = set_up.cuts[min(one.freed for one in loose)].name
        yield _notice(len(loose), f"comes free by {name}", f"come free, the first by {name},", held=held, line=0)


def _notice(count: int, one: str, more: str, *, held: bool, line: int) -> Notice:
    what = f"a piece {one}" if count == 1 else f"{count} pieces {more}"
    if held:
        it = "it as a set-up of its own" if count == 1 else "each as a set-up of its own"
        detail = f"{what} with holders of its own on it, judged as one with the rest: ask for {it}"
    else:
        detail = f"{what} that no part states: say in parts what holds {'it' if count == 1 else 'them'}"
    return Notice(code="piece_not_stated", detail=detail, pointer="/parts", line=line, doubt=True)


def _unstated(pieces: Sequence[Piece], set_up: SetUp, contacts: Contacts) -> Iterator[tuple[list[Piece], bool]]:
    """Give the pieces but the main one, stated parts and waste all round: those with no holder on them, then others."""
    if len(pieces) < 2:
        return
    clamped = _nearest(pieces, [*_pushed(contacts), *(rub.at for rub in contacts.rubs)])
    held = clamped + _nearest(pieces, [pin.at for pin in contacts.pins]) + _under(pieces, contacts)
    main = max(range(len(pieces)), key=lambda number: (held[number], pieces[number].area))
    outlines = [part.outline for part in set_up.parts]
    found = [
        (one, clamped[number] > 0.0)
        for number, one in enumerate(pieces)
        if number != main
        and not one.surrounds(pieces[main])
        and not any(one.within(outline) > 0.5 for outline in outlines)
    ]
    for by_clamps in (False, True):
        if some := [one for one, has in found if has == by_clamps]:
            yield some, by_clamps


def _pushed(contacts: Contacts) -> list[tuple[float, float, float]]:
    return [push.at for push in contacts.pushes if push.holder >= 0]


def _nearest(pieces: Sequence[Piece], places: Sequence[tuple[float, float, float]]) -> FloatArray:
    """Return how many places lie on each piece, or nearest to it."""
    votes = np.zeros(len(pieces))
    for place in places:
        votes[int(np.argmin([np.hypot(*(one.points - place[:2]).T).min() for one in pieces]))] += 1.0
    return votes


def _under(pieces: Sequence[Piece], contacts: Contacts) -> FloatArray:
    """Return for each piece how many areas of tape or suction lie under it, in parts of each."""
    areas = [bond.area for bond in contacts.bonds if bond.holder >= 0]
    areas += [rest.area for rest in contacts.rests if rest.holder >= 0]
    shares = np.array([[one.within(area) * one.area for one in pieces] for area in areas]).reshape(-1, len(pieces))
    totals: FloatArray = shares.sum(axis=1, keepdims=True)
    parts: FloatArray = (shares / np.where(totals > 0.0, totals, 1.0)).sum(axis=0)
    return parts
