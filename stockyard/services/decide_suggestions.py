"""Accept, reject or correct suggested defects, one or many, all or none of them.

    accept_suggestions(open_work, which, as_new, apart, because) -> tuple[Decided, ...]
    reject_suggestions(open_work, which, because)                -> tuple[Decided, ...]
    edit_suggestions(open_work, which, sketch, because)          -> tuple[Decided, ...]

which: Which(refs, docket, every, kind, above, face). A ref is a suggestion ("SG-0001:3"), some of a board
("SG-0001:3-5,8"), or a board ("SG-0001"), of which every, kind, above or face then say which. An accepted
suggestion becomes a defect of origin "photo"; one that meets a mapped defect is noted as the same; two that
are one crack through the board become one defect. To correct is to accept with changes. Later decisions
count: what was accepted can be rejected, and comes off the map.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault, Refused
from stockyard.services.map_defects import Sketch, edit_within
from stockyard.services.suggest_defects import Offer, ReadFace, faces_of
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.mapped_defect import DefectOrigin, MappedDefect
from stockyard.timber.photo import Decision, SuggestedDefect, Verdict
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

_MOST_IN_A_RANGE = 1_000


@dataclass(frozen=True, slots=True)
class Which:
    """Which suggestions; all conditions hold together, and bind only boards named whole.

    every: all open ones of the boards named or of the docket. above: at least so sure, 0..1.
    """

    refs: tuple[str, ...] = ()
    docket: str | None = None
    every: bool = False
    kind: DefectKind | None = None
    above: float | None = None
    face: Face | None = None


@dataclass(frozen=True, slots=True)
class Decided:
    """What came of one suggestion. defect: as it now stands on the map, None where it is not on it.

    with_: the id of the suggestion of the other face that is the same crack.
    """

    suggested: SuggestedDefect
    decision: Decision
    defect: MappedDefect | None = None
    with_: str | None = None


def accept_suggestions(
    open_work: "OpenWork",
    which: Which,
    *,
    as_new: bool = False,
    apart: bool = False,
    because: str = "",
) -> tuple[Decided, ...]:
    """Put suggestions on their boards' maps.

    as_new: map also what meets a mapped defect. apart: map the two sides of a through crack as two. Taken by
    conditions, what was refused on an earlier reading is left open. Raises NotFound; BadInput when nothing is
    named, or a board is gone; Refused for one that is accepted already.
    """

    def accept(work: "UnitOfWork", offers: Sequence[Offer], named: bool) -> list[Decided]:
        done: list[Decided] = []
        for offer in offers:
            one = offer.suggested
            if any(one.id in (each.suggested.id, each.with_) for each in done):
                continue
            as_what = _accepted_as(work, one)
            if as_what is not None:
                raise Refused(f"{one.id} is accepted already, as {as_what}; `photo edit` changes it.")
            if offer.refused_as is not None and not named:
                continue
            if offer.same_as is not None and not as_new:
                decision = Decision(Verdict.SAME, offer.same_as, cause=because)
                work.suggestions.decide([(one, decision)])
                done.append(Decided(one, decision, work.defects.get(offer.same_as)))
            elif offer.through is not None and not apart:
                done += _through(work, offer, because)
            else:
                done.append(_mapped(work, offer, because))
        return done

    return _decide(open_work, which, accept)


def reject_suggestions(open_work: "OpenWork", which: Which, *, because: str = "") -> tuple[Decided, ...]:
    """Say no to suggestions. One that was accepted comes off the map, or is again what it was before.

    Raises NotFound; BadInput when nothing is named, or a board is gone.
    """

    def reject(work: "UnitOfWork", offers: Sequence[Offer], named: bool) -> list[Decided]:
        done = []
        for offer in offers:
            one, decision = offer.suggested, Decision(Verdict.REJECTED, cause=because)
            if one.decided is not None and one.decided.verdict is Verdict.ACCEPTED:
                _unmap(work, one, because)
            work.suggestions.decide([(one, decision)])
            done.append(Decided(one, decision))
        return done

    return _decide(open_work, which, reject)


def edit_suggestions(
    open_work: "OpenWork", which: Which, sketch: Sketch, *, because: str = ""
) -> tuple[Decided, ...]:
    """Accept suggestions with changes; one that was accepted already is changed on the map.

    sketch: what is other than suggested; a shape only for one suggestion. Raises as `accept_suggestions` and
    `edit_defect` do.
    """
    if sketch == Sketch():
        raise BadInput(
            "Nothing was given to change; say --kind, --face, a shape, --opening, --depth or --note."
        )

    def edit(work: "UnitOfWork", offers: Sequence[Offer], named: bool) -> list[Decided]:
        shaped = any(shape is not None for shape in (sketch.box, sketch.polygon, sketch.line))
        if shaped and len(offers) > 1:
            raise BadInput("One shape cannot be that of several defects; correct them one by one.")
        done = []
        for offer in offers:
            one = offer.suggested
            as_what = _accepted_as(work, one) or _mapped(work, offer, because, record=False).decision.defect
            now = edit_within(work, as_what or "", sketch, because)
            earlier = {
                name: value
                for name, value in (one.decided.changed if one.decided else {}).items()
                if name in ("was", "with")
            }
            decision = Decision(
                Verdict.ACCEPTED, now.defect.id, changed=earlier | _differences(offer, now), cause=because
            )
            work.suggestions.decide([(one, decision)])
            done.append(Decided(one, decision, now))
        return done

    return _decide(open_work, which, edit)


def suggestion_history(open_work: "OpenWork", id_: str) -> tuple[SuggestedDefect, tuple[Decision, ...]]:
    """A suggestion as it was found and everything said to it, the oldest first. Raises NotFound."""
    with open_work(reading=True) as work:
        return work.suggestions.get(id_), work.suggestions.history(id_)


_Act = Callable[["UnitOfWork", Sequence[Offer], bool], list[Decided]]


def _decide(open_work: "OpenWork", which: Which, act: _Act) -> tuple[Decided, ...]:
    named, whole = _read(which.refs)
    chosen = which.every or which.kind is not None or which.above is not None or which.face is not None
    if not named and not whole and which.docket is None:
        raise BadInput('Say which suggestions: "SG-0001:3", "SG-0001:3-5,8", or a board with --all.')
    if (whole or which.docket is not None) and not chosen:
        of = whole[0] if whole else f"docket {which.docket}"
        raise BadInput(f"Say which suggestions of {of}: its numbers, or --all, --kind, --face or --above.")
    with open_work() as work:
        boards = set(whole)
        if which.docket is not None:
            work.deliveries.get(which.docket)
            boards |= {piece.number for piece in work.pieces.find(RackQuery(delivery=which.docket))}
        work.pieces.lock(boards | set(named))
        pieces = work.pieces.get_many(sorted(boards | set(named)))
        gone = [
            Fault(number, "a board on hand", "one that is gone")
            for number, piece in pieces.items()
            if not piece.on_hand
        ]
        if gone:
            raise BadInput("The map of a board that is gone cannot change; nothing was written.", gone)
        done: list[Decided] = []
        for number, piece in pieces.items():
            faces = faces_of(work, [piece])
            if number in named:
                wanted = _named(work, number, named[number], faces)
                done += act(work, wanted, True)
                faces = faces_of(work, [piece])
            if number in boards:
                done += act(work, _meeting(which, faces), False)
        work.commit()
    return tuple(done)


def _read(refs: Iterable[str]) -> tuple[dict[str, list[int]], tuple[str, ...]]:
    """Suggestion numbers by board, and the boards named whole."""
    named: dict[str, list[int]] = {}
    whole: list[str] = []
    for ref in refs:
        board, colon, numbers = ref.strip().rpartition(":")
        if not colon:
            whole.append(numbers)
            continue
        for part in numbers.split(","):
            first, dash, last = part.partition("-")
            if not first.isdecimal() or (dash and not last.isdecimal()) or len(part) > 18:
                raise BadInput(
                    f"{ref!r} names no suggestions; write SG-0001:3, or SG-0001:3-5,8 for several."
                )
            low, high = int(first), int(last or first)
            if not low <= high < low + _MOST_IN_A_RANGE:
                raise BadInput(f"{ref!r} is no range of suggestions; the lower number comes first.")
            named.setdefault(board, []).extend(range(low, high + 1))
    return named, tuple(dict.fromkeys(whole))


def _named(work: "UnitOfWork", board: str, numbers: Sequence[int], faces: Sequence[ReadFace]) -> list[Offer]:
    offers = {offer.suggested.number: offer for face in faces for offer in face.offers}
    found = []
    for number in dict.fromkeys(numbers):
        if number not in offers:
            one = work.suggestions.get(f"{board}:{number}")  # raises NotFound where there never was one
            raise BadInput(
                f"{one.id} stands no more: face {one.face.value} of {board} was photographed or read again; "
                f"`stockyard photo list {board}` shows what is suggested now."
            )
        found.append(offers[number])
    return found


def _meeting(which: Which, faces: Sequence[ReadFace]) -> list[Offer]:
    return [
        offer
        for face in faces
        for offer in face.offers
        if offer.open
        and (which.kind is None or offer.suggested.kind is which.kind)
        and (which.above is None or offer.suggested.confidence >= which.above)
        and (which.face is None or offer.suggested.face is which.face)
    ]


def _accepted_as(work: "UnitOfWork", one: SuggestedDefect) -> str | None:
    """The defect an accepted suggestion is on the map as; None where it is not."""
    decided = one.decided
    if decided is None or decided.verdict is not Verdict.ACCEPTED or decided.defect is None:
        return None
    return None if work.defects.get(decided.defect).removed else decided.defect


def _mapped(work: "UnitOfWork", offer: Offer, because: str, record: bool = True) -> Decided:
    """Map a suggestion as it was found."""
    one = offer.suggested
    mapped = work.defects.add(
        one.piece,
        one.kind,
        one.face,
        offer.outline,
        opening_mm=one.opening_mm,
        origin=DefectOrigin.PHOTO,
        cause=because or f"suggested on photo {one.photo}, {one.confidence:.0%} sure ({one.id})",
    )
    decision = Decision(
        Verdict.ACCEPTED, mapped.defect.id, changed=_differences(offer, mapped), cause=because
    )
    if record:
        work.suggestions.decide([(one, decision)])
    return Decided(one, decision, mapped)


def _through(work: "UnitOfWork", offer: Offer, because: str) -> list[Decided]:
    """Map one crack through the board for what both faces show."""
    one, other_id = offer.suggested, offer.through or ""
    whole = replace(offer, outline=offer.through_outline or offer.outline)
    if ":" not in other_id:
        before = work.defects.get(other_id)
        cause = because or f"seen through on photo {one.photo} ({one.id})"
        now = work.defects.edit(other_id, cause=cause, face=Face.BOTH, outline=whole.outline)
        was = {
            "face": before.defect.face.value,
            "outline": [list(point) for point in before.defect.outline],
        }
        decision = Decision(
            Verdict.ACCEPTED, other_id, changed=_differences(offer, now) | {"was": was}, cause=because
        )
        work.suggestions.decide([(one, decision)])
        return [Decided(one, decision, now)]
    other = work.suggestions.get(other_id)
    likelier = one if one.confidence >= other.confidence else other
    mapped = work.defects.add(
        one.piece,
        likelier.kind,
        Face.BOTH,
        whole.outline,
        opening_mm=max((each.opening_mm or 0 for each in (one, other)), default=0) or None,
        origin=DefectOrigin.PHOTO,
        cause=because or f"seen on both faces ({one.id} and {other.id})",
    )
    done = []
    for each, twin in ((one, other), (other, one)):
        decision = Decision(
            Verdict.ACCEPTED,
            mapped.defect.id,
            changed=_differences(replace(offer, suggested=each), mapped) | {"with": twin.id},
            cause=because,
        )
        work.suggestions.decide([(each, decision)])
        done.append(Decided(each, decision, mapped, with_=twin.id))
    return done


def _unmap(work: "UnitOfWork", one: SuggestedDefect, because: str) -> None:
    """Take an accepted suggestion off the map again, together with its twin of the other face."""
    decided = one.decided
    if decided is None or decided.defect is None:
        return
    cause = because or f"{one.id} rejected after all"
    standing = work.defects.get(decided.defect)
    was = decided.changed.get("was")
    if was is not None and not standing.removed:
        outline = tuple((x, y) for x, y in was["outline"])
        work.defects.edit(decided.defect, cause=cause, face=Face(was["face"]), outline=outline)
    elif not standing.removed:
        work.defects.remove(decided.defect, cause=cause)
    twin_id = decided.changed.get("with")
    if twin_id is not None:
        twin = work.suggestions.get(twin_id)
        if twin.decided is not None and twin.decided.defect == decided.defect:
            work.suggestions.decide([(twin, Decision(Verdict.REJECTED, cause=cause))])


def _differences(offer: Offer, mapped: MappedDefect) -> dict[str, Any]:
    """What stands on the map otherwise than it was suggested."""
    one, defect = offer.suggested, mapped.defect
    changed: dict[str, Any] = {}
    if defect.kind is not one.kind:
        changed["kind"] = defect.kind.value
    if defect.face is not one.face:
        changed["face"] = defect.face.value
    if defect.outline != one.outline:
        changed["outline"] = [list(point) for point in defect.outline]
    if defect.opening_mm != one.opening_mm:
        changed["opening_mm"] = defect.opening_mm
    if defect.depth_mm is not None:
        changed["depth_mm"] = defect.depth_mm
    return changed | ({"note": mapped.note} if mapped.note else {})
