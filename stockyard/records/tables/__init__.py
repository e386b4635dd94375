"""The tables, one module for each matter. What leaves this room is frozen values, never these rows."""

from stockyard.records.tables.accounts import JobTimeRow, QuoteRow, SupplyRow
from stockyard.records.tables.base import Base
from stockyard.records.tables.climate import (
    ClimateLogRow,
    ClimatePlaceRow,
    ClimateReadingRow,
    ClimateVoidRow,
)
from stockyard.records.tables.defect import DefectRow, DefectVersionRow
from stockyard.records.tables.delivery import DeliveryRow
from stockyard.records.tables.errand import ErrandFileRow, ErrandRow
from stockyard.records.tables.job import JobRow, JobVersionRow, PlanBoardRow, PlanRow, StepRow
from stockyard.records.tables.movement import MovementLineRow, MovementRow
from stockyard.records.tables.people import PersonRow, SignInFailureRow, SignInRow
from stockyard.records.tables.photo import (
    DetectionRow,
    PhotoPictureRow,
    PhotoRow,
    PhotoVoidRow,
    PictureRow,
    SuggestionDecisionRow,
    SuggestionRow,
)
from stockyard.records.tables.piece import PieceChangeRow, PieceRow, ReadingRow, ReadingVoidRow
from stockyard.records.tables.stocktake import StocktakeExpectedRow, StocktakeRow, StocktakeScanRow
from stockyard.records.tables.workshop import CountRow, SettingRow, SpeciesRow, SupplierRow

__all__ = [
    "Base",
    "ClimateLogRow",
    "ClimatePlaceRow",
    "ClimateReadingRow",
    "ClimateVoidRow",
    "CountRow",
    "DefectRow",
    "DefectVersionRow",
    "DeliveryRow",
    "DetectionRow",
    "ErrandFileRow",
    "ErrandRow",
    "JobRow",
    "JobTimeRow",
    "JobVersionRow",
    "MovementLineRow",
    "MovementRow",
    "PersonRow",
    "PhotoPictureRow",
    "PhotoRow",
    "PhotoVoidRow",
    "PictureRow",
    "PieceChangeRow",
    "PieceRow",
    "PlanBoardRow",
    "PlanRow",
    "QuoteRow",
    "ReadingRow",
    "ReadingVoidRow",
    "SettingRow",
    "SignInFailureRow",
    "SignInRow",
    "SpeciesRow",
    "StepRow",
    "StocktakeExpectedRow",
    "StocktakeRow",
    "StocktakeScanRow",
    "SuggestionDecisionRow",
    "SuggestionRow",
    "SupplierRow",
    "SupplyRow",
]

HISTORY = (
    "setting",
    "delivery",
    "piece_change",
    "moisture_reading",
    "moisture_void",
    "defect_version",
    "job_version",
    "movement",
    "movement_line",
    "climate_log",
    "climate_reading",
    "climate_void",
    "stocktake_expected",
    "stocktake_scan",
    "job_time",
    "quote",
    "picture",
    "photo",
    "photo_picture",
    "photo_void",
    "detection",
    "suggestion",
    "suggestion_decision",
)
"""Tables that only ever grow: triggers in the database refuse every UPDATE and DELETE of them."""
