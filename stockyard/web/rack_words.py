"""What a rack page's address asks for, read leniently: a filter half typed filters nothing."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import QueryParams

from stockyard.errors import BadInput
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import STANDING, RackOrder, RackQuery
from stockyard.web.ways import Ways

_LENGTHS = (
    "min_length", "max_length", "min_width", "max_width", "min_thickness", "max_thickness"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RackWords:
    """The words of an address as typed, and what they mean. lengths: those that could be read. [mm]"""

    words: str
    species: tuple[str, ...]
    place: str
    status: tuple[str, ...]
    kind: tuple[str, ...]
    docket: str
    unread: bool
    order: RackOrder
    after: str | None
    typed: Mapping[str, str]
    lengths: Mapping[str, float]
    max_moisture: float | None

    def query(self) -> RackQuery:
        """The query that these words ask for."""
        return RackQuery(
            species=self.species,
            kinds=tuple(PieceKind(word) for word in self.kind),
            status=tuple(PieceStatus(word) for word in self.status) or STANDING,
            length_at_least_mm=self.lengths.get("min_length"),
            length_at_most_mm=self.lengths.get("max_length"),
            width_at_least_mm=self.lengths.get("min_width"),
            width_at_most_mm=self.lengths.get("max_width"),
            thickness_at_least_mm=self.lengths.get("min_thickness"),
            thickness_at_most_mm=self.lengths.get("max_thickness"),
            moisture_at_most_pct=self.max_moisture,
            place=self.place or None,
            delivery=self.docket or None,
            words=tuple(self.words.split()[:8]),
            unread=self.unread,
        )

    def plain(self) -> dict[str, Any]:
        """The words again, for an address."""
        return {
            "words": self.words,
            "species": self.species,
            "place": self.place,
            "status": self.status,
            "kind": self.kind,
            "docket": self.docket,
            "unread": "1" if self.unread else "",
            "order": "" if self.order is RackOrder.NUMBER else self.order.value,
            **self.typed,
        }


def words_of(asked: QueryParams, ways: Ways) -> RackWords:
    """The words of an address. What cannot be read does not filter."""
    typed = {name: asked.get(name, "").strip()[:40] for name in (*_LENGTHS, "max_moisture")}
    lengths = {name: mm for name in _LENGTHS if (mm := _length(typed[name], ways)) is not None}
    return RackWords(
        words=asked.get("words", "").strip()[:200],
        species=tuple(word for word in asked.getlist("species") if word)[:20],
        place=asked.get("place", ""),
        status=_of(asked, "status", [status.value for status in PieceStatus]),
        kind=_of(asked, "kind", [kind.value for kind in PieceKind]),
        docket=asked.get("docket", ""),
        unread=bool(asked.get("unread")),
        order=RackOrder(asked["order"]) if asked.get("order") in set(RackOrder) else RackOrder.NUMBER,
        after=asked.get("after") or None,
        typed=typed,
        lengths=lengths,
        max_moisture=_percent(typed["max_moisture"]),
    )


def _of(asked: QueryParams, name: str, choices: list[str]) -> tuple[str, ...]:
    return tuple(word for word in dict.fromkeys(asked.getlist(name)) if word in choices)


def _length(text: str, ways: Ways) -> float | None:
    try:
        return ways.read_mm(text, "length") if text else None
    except BadInput:
        return None


def _percent(text: str) -> float | None:
    try:
        value = float(text.replace(",", ".").removesuffix("%"))
    except ValueError:
        return None
    return value if 0 <= value <= 200 else None
