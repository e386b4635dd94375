"""The nouns of the trade as frozen values: boards, their flaws, the panels asked of them, the plans made.

A value here says what a thing is and refuses to be nonsense. What may be done with it (geometry, moisture,
selection, money) is known by the room named for that knowledge, never here.
"""

from stockyard.timber.board import Board, Distortion
from stockyard.timber.defect import (
    WEAKENING,
    Defect,
    DefectKind,
    Face,
    Outline,
    Point,
)
from stockyard.timber.job import (
    Allowances,
    Costs,
    Do,
    Job,
    MoistureRule,
    Rings,
    Rule,
    Rules,
    Unread,
)
from stockyard.timber.panel import Panel, Show
from stockyard.timber.plan import (
    BoardCut,
    CostParts,
    MadePanel,
    Offcut,
    Plan,
    Reason,
    Rejection,
    Section,
    Status,
    Strip,
    StripUse,
    Treatment,
)
from stockyard.timber.stave import Stave
from stockyard.timber.stock import Stock
from stockyard.timber.window import Window

__all__ = [
    "WEAKENING",
    "Allowances",
    "Board",
    "BoardCut",
    "CostParts",
    "Costs",
    "Defect",
    "DefectKind",
    "Distortion",
    "Do",
    "Face",
    "Job",
    "MadePanel",
    "MoistureRule",
    "Offcut",
    "Outline",
    "Panel",
    "Plan",
    "Point",
    "Reason",
    "Rejection",
    "Rings",
    "Rule",
    "Rules",
    "Section",
    "Show",
    "Status",
    "Stave",
    "Stock",
    "Strip",
    "StripUse",
    "Treatment",
    "Unread",
    "Window",
]
