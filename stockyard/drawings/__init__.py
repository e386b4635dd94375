"""Boards, panels, cut maps, labels and written sheets as drawings: values in, SVG, PDF or plain text out.

Each drawing is first pages of marks (`sheet`: lines, shapes and words in millimetres of paper), then written
out; SVG and PDF are made from the same marks. Defects are told apart by hatching and letter, never by colour
alone. Knows how timber is drawn; decides nothing about it.
"""

from stockyard.drawings.board_map import board_map, board_sheets
from stockyard.drawings.board_text import board_text
from stockyard.drawings.cut_map import cut_map, cut_sheets
from stockyard.drawings.drawing import Drawing
from stockyard.drawings.panel_layout import panel_layout, panel_sheets

__all__ = [
    "Drawing",
    "board_map",
    "board_sheets",
    "board_text",
    "cut_map",
    "cut_sheets",
    "panel_layout",
    "panel_sheets",
]
