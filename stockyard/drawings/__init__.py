"""Boards, panels and cut maps as drawings: values in, SVG or plain text out.

Each drawing is first a sheet (`sheet`: lines, shapes and words in millimetres of paper), then written out.
Defects are told apart by hatching and letter, never by colour alone. Knows how timber is drawn; decides
nothing about it.
"""

from stockyard.drawings.board_map import board_map
from stockyard.drawings.board_text import board_text
from stockyard.drawings.cut_map import cut_map
from stockyard.drawings.panel_layout import panel_layout

__all__ = ["board_map", "board_text", "cut_map", "panel_layout"]
