"""Reports of what boards gave: recovery by supplier and species, offcuts and their use, defects found."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from stockyard.reports.facts import FoundDefect, PieceFacts
from stockyard.reports.report import Column, Report, Unit, cubic_metres, framed, percentage
from stockyard.timber.movement import Line, Movement, MovementKind


def recovery_report(
    movements: Sequence[Movement], pieces: Mapping[str, PieceFacts], since: date, until: date, currency: str
) -> Report:
    """What cut boards gave, by supplier and species: staves, offcuts kept, and the rest as waste.

    movements: all, so that a cut taken back is taken out again on the day it was.
    """
    columns = (
        Column("supplier", "supplier"),
        Column("species", "species"),
        Column("boards", "boards", Unit.COUNT, total=True),
        Column("cut_m3", "cut m3", Unit.M3, total=True),
        Column("staves_m3", "staves m3", Unit.M3, total=True),
        Column("offcuts_m3", "offcuts m3", Unit.M3, total=True),
        Column("waste_m3", "waste m3", Unit.M3, total=True, brief=False),
        Column("recovery_pct", "staves %", Unit.PERCENT, share=("staves_m3", "cut_m3")),
        Column("waste_pct", "waste %", Unit.PERCENT, share=("waste_m3", "cut_m3")),
    )
    boards: Counter[tuple[str, str]] = Counter()
    volumes: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for kind, sign, line in _comings_and_goings(movements, since, until):
        if kind is not MovementKind.CUT or line.piece is None:
            continue
        facts = pieces[line.piece]
        key = (facts.supplier, facts.species)
        if sign * line.on_hand < 0:
            boards[key] -= line.on_hand
            volumes[key]["cut"] -= line.volume_mm3
        else:
            volumes[key][facts.kind] += line.volume_mm3
    rows = []
    for key in sorted(key for key, count in boards.items() if count):
        cut, stave, offcut = (volumes[key][name] for name in ("cut", "stave", "offcut"))
        waste = cut - stave - offcut
        told = [cubic_metres(volume) for volume in (cut, stave, offcut, waste)]
        shares = (percentage(Decimal(part), Decimal(cut)) for part in (stave, waste))
        rows.append((*key, boards[key], *told, *shares))
    notes = ("Staves in the rough; what the saw, the docking and spoiled staves took is waste.",)
    return Report(
        "recovery",
        "Recovery and waste",
        f"{since} to {until}",
        currency,
        columns,
        framed(columns, rows),
        notes,
    )


def offcuts_report(
    movements: Sequence[Movement], pieces: Mapping[str, PieceFacts], since: date, until: date, currency: str
) -> Report:
    """What became of offcuts, by species: put on the rack, cut again, lost, and what stands at the end."""
    columns = (
        Column("species", "species"),
        Column("made", "made", Unit.COUNT, total=True),
        Column("made_m3", "made m3", Unit.M3, total=True),
        Column("used", "used", Unit.COUNT, total=True),
        Column("used_m3", "used m3", Unit.M3, total=True),
        Column("lost", "lost", Unit.COUNT, total=True),
        Column("standing", "on hand", Unit.COUNT, total=True),
        Column("standing_m3", "on hand m3", Unit.M3, total=True),
        Column("worth", "worth", Unit.MONEY, total=True),
    )
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    worths: dict[str, Decimal] = defaultdict(lambda: Decimal("0.00"))
    for kind, sign, line in _comings_and_goings(movements, since, until):
        if line.piece is None or not line.on_hand or pieces[line.piece].kind != "offcut":
            continue
        what = "made" if sign * line.on_hand > 0 else "used" if kind is MovementKind.CUT else "lost"
        told = counts[pieces[line.piece].species]
        told[what] += sign
        told[f"{what} mm3"] += sign * abs(line.volume_mm3)
    for movement in movements:
        for line in movement.lines if movement.effective <= until else ():
            if line.piece is not None and pieces[line.piece].kind == "offcut":
                species = pieces[line.piece].species
                counts[species]["standing"] += line.on_hand
                counts[species]["standing mm3"] += line.volume_mm3
                worths[species] += line.value
    rows = [
        (
            species,
            told["made"],
            cubic_metres(told["made mm3"]),
            told["used"],
            cubic_metres(told["used mm3"]),
            told["lost"],
            told["standing"],
            cubic_metres(told["standing mm3"]),
            worths[species],
        )
        for species, told in sorted(counts.items())
        if any(told.values())
    ]
    return Report(
        "offcuts", "Use of offcuts", f"{since} to {until}", currency, columns, framed(columns, rows)
    )


def defects_report(
    found: Iterable[FoundDefect], boards: Mapping[str, int], since: date, until: date, currency: str
) -> Report:
    """Defects mapped on boards delivered in those days, by supplier and kind.

    boards: how many each supplier delivered.
    """
    columns = (
        Column("supplier", "supplier"),
        Column("kind", "kind of defect"),
        Column("boards", "boards", Unit.COUNT),
        Column("affected", "with it", Unit.COUNT),
        Column("defects", "defects", Unit.COUNT, total=True),
        Column("affected_pct", "of boards, %", Unit.PERCENT),
    )
    grouped: dict[tuple[str, str], list[str]] = defaultdict(list)
    for each in found:
        grouped[each.supplier, each.kind.replace("_", " ")].append(each.board)
    rows = []
    for (supplier, kind), on in sorted(grouped.items()):
        affected = len(set(on))
        share = percentage(Decimal(affected), Decimal(boards[supplier]))
        rows.append((supplier, kind, boards[supplier], affected, len(on), share))
    notes = ("As the maps stand now; what offcuts and staves inherited is not counted again.",)
    return Report(
        "defects", "Defects by supplier and kind", f"delivered {since} to {until}", currency, columns,
        framed(columns, rows), notes,
    )  # fmt: skip


def _comings_and_goings(
    movements: Sequence[Movement], since: date, until: date
) -> Iterator[tuple[MovementKind, int, Line]]:
    """Every line in those days with the kind of what happened, and -1 where that was taken back by it."""
    kinds = {movement.id: movement.kind for movement in movements}
    for movement in movements:
        if since <= movement.effective <= until:
            back = movement.reverses is not None
            kind = kinds[movement.reverses] if back else movement.kind
            for line in movement.lines:
                yield kind, -1 if back else 1, line
