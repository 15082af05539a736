"""How should this be held? Every way that the shop has, placed, judged and ranked; and why the others are out."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillstock.answers.batch import quickness
from stillstock.answers.job import job_of
from stillstock.answers.margin_words import CAUTIONS, in_ascii, in_one_line
from stillstock.answers.notices import Notice
from stillstock.answers.placing.ground import Ground
from stillstock.answers.shop import Entry, Question
from stillstock.answers.suitability import applying, job_words
from stillstock.answers.trying import Placed, Reason, Trier
from stillstock.answers.ways_to_hold import Method, has_member, methods_of
from stillstock.engine.holding.register import methods
from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.settings import Limits
from stillstock.tables.catalogue import holder_entries
from stillstock.tables.load import Tables
from stillstock.tables.suitability import Fact

__all__ = ["Recommendation", "RecommendationAnswer", "RuledOut", "answer_recommendation"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Recommendation:
    """One way of holding that would do.

    Attributes
    ----------
    placed : Placed
    cautions : tuple of Fact
        What the trade knows of it in such a job.
    """

    placed: Placed
    cautions: tuple[Fact, ...]


@dataclass(frozen=True, kw_only=True)
class RuledOut:
    """One way of holding that would not do, and the number or named fact that rules it out."""

    method: Method
    reason: Reason


@dataclass(frozen=True, kw_only=True, eq=False)
class RecommendationAnswer:
    """Everything that the question answers.

    Attributes
    ----------
    summary : str
        One ASCII line of at most 120 characters.
    verdict : str
        That of the first choice; ``"lets_go"`` if there is none.
    ranked : tuple of Recommendation
        The best first.
    ruled_out : tuple of RuledOut
    missing : tuple of str
        Where nothing would do: what is missing, one sentence each.
    cautions : tuple of str
    warnings : tuple of Notice
    programmes, judged : int
        Linear programmes solved; set-ups judged in full. [-]
    fingerprint : str
    """

    summary: str
    verdict: str
    ranked: tuple[Recommendation, ...]
    ruled_out: tuple[RuledOut, ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    warnings: tuple[Notice, ...]
    programmes: int
    judged: int
    fingerprint: str


def _faults(question: Question, ground: Ground) -> list[Fault]:
    """Return what makes any recommendation impossible."""
    found = []
    if not question.shop.entries:
        detail = "the shop is empty: state at least one kind of holder that stands in it"
        found.append(Fault(pointer="/shop/holders", code="empty", detail=detail, limit=1, seen=0))
    if question.shop.table is not None:
        stock = question.set_up.stock
        room = question.shop.table[1] - question.shop.table[0]
        x, y = stock.size[:2]
        if x > room[0] or y > room[1]:
            detail = (
                f"the stock ({ground.say(x)} by {ground.say(y)}) is larger than the table "
                f"({ground.say(float(room[0]))} by {ground.say(float(room[1]))})"
            )
            found.append(Fault(pointer="/stock/size", code="larger_than_table", detail=detail))
    return found


def _key(placed: Placed, question: Question) -> tuple[float, ...]:
    """Return by what ways of holding are ranked, the least first: no number in it hangs on what else the shop has."""
    weights = {"time": placed.effort.time.typical, "cost": placed.effort.cost.typical, "finish": placed.movement}
    order = [name for name in (*question.matters, "time", "cost") if name in weights]
    nearness = 0.0 if placed.grade == 0 else -placed.score
    return (float(placed.grade), nearness, *(weights[name] for name in dict.fromkeys(order)))


def _facts(method: Method, question: Question, words: frozenset[str]) -> list[Fact]:
    alone = words | {"alone"} if not method.companions else words
    return [fact for entry in method.entries for fact in applying(entry, question, alone)]


def _found(method: Method, facts: Sequence[Fact], trier: Trier) -> Placed | Reason:
    ruling = next((fact for fact in facts if fact.rules_out), None)
    return trier.best(method) if ruling is None else _reason_of(ruling)


def _reason_of(fact: Fact) -> Reason:
    return Reason(code="fact", detail=fact.words, source=fact.source, fact=fact.key)


def answer_recommendation(
    question: Question, tables: Tables, *, limits: Limits, fingerprint: str
) -> RecommendationAnswer:
    """Return which ways of holding would do, the best first, and why the others would not.

    Parameters
    ----------
    question : Question
    tables : Tables
    limits : Limits
        Of the work that one request may cost.
    fingerprint : str
        Digest of the document and the model's version.

    Raises
    ------
    ImpossibleSetUp
        If the shop is empty, or the stock larger than its table.
    NothingToJudge
        If nothing pulls at the stock.
    TooMuchWork
        If the program is longer than the limit.
    OutOfWork
        If the work is spent and no way was found that would do.
    """
    with budget(limits.work):
        return _answer(question, tables, limits=limits, fingerprint=fingerprint)


def _answer(question: Question, tables: Tables, *, limits: Limits, fingerprint: str) -> RecommendationAnswer:
    job = job_of(question.set_up, limits=limits)
    ground = Ground(question=question, job=job, tables=tables)
    faults = _faults(question, ground)
    if faults:
        raise ImpossibleSetUp(faults)
    trier = Trier(ground, limits)
    words = job_words(question, trier.loads)
    ways = methods_of(question.shop)
    ranked: list[Recommendation] = []
    reasons: dict[str, Reason] = {}
    for method in sorted(ways, key=lambda way: quickness(way.entries, question, tables)):
        facts = _facts(method, question, words)
        found = _found(method, facts, trier)
        if isinstance(found, Reason):
            reasons[method.key] = found
        else:
            cautions = tuple({fact.key: fact for fact in facts}.values())
            ranked.append(Recommendation(placed=found, cautions=cautions))
    if not ranked and any(reason.code == "work" for reason in reasons.values()):
        raise OutOfWork  # what was not judged might do: nothing may be said of it
    ranked.sort(key=lambda one: _key(one.placed, question))
    out = [RuledOut(method=method, reason=reasons[method.key]) for method in ways if method.key in reasons]
    missing = () if ranked else _missing(question, out, words)
    return RecommendationAnswer(
        summary=_summary(ranked, out, missing),
        verdict=str(ranked[0].placed.found.verdict) if ranked else "lets_go",
        ranked=tuple(ranked),
        ruled_out=tuple(out),
        missing=missing,
        cautions=CAUTIONS,
        warnings=(*job.notices, *_place_notices(question)),
        programmes=trier.programmes,
        judged=trier.judged,
        fingerprint=fingerprint,
    )


def _place_notices(question: Question) -> list[Notice]:
    """Return what was taken of places that the shop did not state."""
    shop, kinds = question.shop, {entry.kind for entry in question.shop.entries}
    found = []
    if shop.inserts is None and shop.tracks is None and "strap_clamp" in kinds:
        detail = "no inserts or tracks are stated: the bolts of strap clamps were taken to stand anywhere"
        found.append(Notice(code="bolts_anywhere", detail=detail, pointer="/shop"))
    if any(has_member(kind, "faces", "pushes") for kind in kinds):
        detail = "stops, side clamps and vises stand where they hold; that their own bolts find a place was not judged"
        found.append(Notice(code="own_bolts_not_judged", detail=detail, pointer="/shop/holders"))
    if "vacuum" in kinds and not shop.zones:
        detail = "no vacuum zones are stated: one was taken to lie under the whole stock"
        found.append(Notice(code="one_zone", detail=detail, pointer="/shop"))
    return found


def _missing(question: Question, out: Sequence[RuledOut], words: frozenset[str]) -> tuple[str, ...]:
    """Return what would make the job possible, from the reasons for which everything is out."""
    found = []
    margins = [one for one in out if one.reason.code == "margin"]
    if margins:
        nearest = max(margins, key=lambda one: one.reason.value or 0.0)
        found.append(
            f"more hold: {nearest.method.title} comes nearest with {nearest.reason.value:.2g} of "
            f"{nearest.reason.limit:.2g}; more or stronger holders, or lighter cuts"
        )
    if any(one.reason.code == "no_place" for one in out):
        found.append("a place: stock beyond the cuts to hold by, of 25 mm (1 in) and more, or a path that leaves some")
    have = {entry.kind for entry in question.shop.entries}
    free = [
        methods()[kind].title
        for kind, entry in holder_entries().items()
        if kind not in have
        and entry.facts["leaves_face_free"]
        and entry.facts["holds_down"]
        and not any(f.rules_out for f in applying(Entry(number=-1, kind=kind), question, words | {"alone"}))
    ]
    if free:
        found.append(f"a holder that leaves the whole face free, which the shop does not have: {', '.join(free)}")
    return tuple(found)


def _times(factor: float) -> str:
    if factor == float("inf"):
        return "more than any times"
    return f"{factor:.1f} times" if factor < 9.95 else f"{factor:.0f} times"


def _summary(ranked: Sequence[Recommendation], out: Sequence[RuledOut], missing: Sequence[str]) -> str:
    if not ranked:
        line = f"nothing in the shop would do: {missing[0] if missing else out[0].reason.detail}"
    else:
        best = ranked[0].placed
        doubt = "" if best.grade == 0 else f", {best.found.verdict}"
        minutes = best.effort.time.typical / 60.0
        line = f"{best.method.title}: {_times(best.found.factor)} the worst load{doubt}, {minutes:.2g} min a piece"
        if len(ranked) > 1:
            line += f"; next: {ranked[1].placed.method.title}"
        line += f"; {len(out)} ruled out" if out else ""
    line = in_ascii(line)
    return in_one_line(line)
