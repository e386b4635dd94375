"""How the nouns look as JSON: the names of the interchange files, mm, plain numbers, dates as ISO text."""

from typing import Any

from stockyard.measures.plain import plain
from stockyard.services.show_board import BoardSheet
from stockyard.timber.booked_plan import BookedJob, BookedPlan
from stockyard.timber.mapped_defect import MappedDefect
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackTotals


def piece(one: Piece) -> dict[str, Any]:
    """A piece in a list."""
    return {
        "id": one.number,
        "kind": one.kind.value,
        "species": one.species,
        "length": one.length_mm,
        "width": one.width_mm,
        "thickness": one.thickness_mm,
        "moisture": one.moisture_pct,
        "place": one.place,
        "status": one.status.value,
        "value": plain(one.value),
        "supplier": one.supplier,
        "docket": one.delivery,
        "parent": one.parent,
        "plan": one.promised_to,
        "note": one.note,
    }


def defect(mapped: MappedDefect) -> dict[str, Any]:
    """A defect on a map."""
    one = mapped.defect
    return {
        "id": one.id,
        "kind": one.kind.value,
        "face": one.face.value,
        "depth": one.depth_mm,
        "opening": one.opening_mm,
        "outline": [list(point) for point in one.outline],
        "state": mapped.state.value,
        "origin": mapped.origin.value,
        "note": mapped.note,
        "version": mapped.version,
    }


def sheet(board: BoardSheet) -> dict[str, Any]:
    """A board with everything known of it."""
    one = board.piece
    bent = one.distortion
    return {
        **piece(one),
        "currency": board.currency,
        "distortion": {
            "bow": bent.bow_mm,
            "spring": bent.spring_mm,
            "cup": bent.cup_mm,
            "twist": bent.twist_mm,
        },
        "heart_face": plain(one.heart_face),
        "ring_angle_deg": one.ring_angle_deg,
        "colour": {"A": plain(one.colour_a), "B": plain(one.colour_b)},
        "defects": [defect(each) for each in board.defects],
        "readings": [plain(each) for each in board.readings],
        "changes": [plain(each) for each in board.changes],
        "movements": [plain(each) for each in board.movements],
        "children": [child.number for child in board.children],
    }


def totals(sums: RackTotals, currency: str) -> dict[str, Any]:
    """What many pieces come to."""
    return {
        "pieces": sums.pieces,
        "gross_m3": sums.volume_mm3 / 1e9,
        "lineal_m": sums.length_mm / 1e3,
        "worth": plain(sums.value),
        "currency": currency,
    }


def job(booked: BookedJob) -> dict[str, Any]:
    """A job as it was kept."""
    return {
        "id": booked.name,
        "version": booked.version,
        "kept": plain(booked.at),
        "by": booked.who,
        "document": plain(booked.document),
    }


def plan(booked: BookedPlan, *, whole: bool = False) -> dict[str, Any]:
    """A plan in a list, or with its document."""
    kept = booked.document
    head = {
        "plan": booked.number,
        "job": booked.job,
        "job_version": booked.job_version,
        "state": booked.status.value,
        "made": plain(booked.at),
        "by": booked.who,
        "status": kept.get("status"),
        "cost": kept.get("cost"),
        "bound": kept.get("bound"),
        "gap": kept.get("gap"),
        "boards": sorted(booked.seen),
    }
    return head | ({"document": plain(kept)} if whole else {})
