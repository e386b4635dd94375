"""Drawings as pictures: what a printer would put on paper, to be measured."""

import io
from collections.abc import Sequence
from importlib.resources import files

import numpy as np
import pypdfium2
import resvg_py
from PIL import Image

DPI = 300
PX_PER_MM = DPI / 25.4


def pdf_pages(document: bytes, dpi: int = DPI) -> list[np.ndarray]:
    """Each page as grey values, 0 black to 255, (rows, columns)."""
    opened = pypdfium2.PdfDocument(document)
    try:
        return [np.asarray(page.render(scale=dpi / 72).to_pil().convert("L")) for page in opened]
    finally:
        opened.close()


def pdf_text(document: bytes) -> list[str]:
    """What can be copied from each page."""
    opened = pypdfium2.PdfDocument(document)
    try:
        return [page.get_textpage().get_text_range() for page in opened]
    finally:
        opened.close()


def page_sizes_mm(document: bytes) -> list[tuple[float, float]]:
    opened = pypdfium2.PdfDocument(document)
    try:
        return [tuple(round(side * 25.4 / 72, 1) for side in page.get_size()) for page in opened]
    finally:
        opened.close()


def svg_page(text: str, dpi: int = DPI) -> np.ndarray:
    """An SVG as a reader with the DejaVu fonts shows it, grey as above."""
    fonts = files("matplotlib") / "mpl-data" / "fonts" / "ttf"
    drawn = resvg_py.svg_to_bytes(
        svg_string=text,
        zoom=dpi / 96,
        dpi=96,
        background="#ffffff",
        skip_system_fonts=True,
        font_files=[
            str(fonts / f"DejaVu{name}.ttf") for name in ("Sans", "Sans-Bold", "Serif", "Serif-Bold")
        ],
        sans_serif_family="DejaVu Sans",
        serif_family="DejaVu Serif",
    )
    return np.asarray(Image.open(io.BytesIO(bytes(drawn))).convert("L"))


def dark(page: np.ndarray, x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    """Where a part of a page is dark, by pixel. [mm of paper, y down]"""
    a, b, c, d = (round(side * PX_PER_MM) for side in (x0, y0, x1, y1))
    return page[b:d, a:c] < 128


def spans_mm(ink: Sequence[bool] | np.ndarray) -> list[tuple[float, float]]:
    """Where runs of ink begin and end along a row or column of pixels. [mm]"""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], np.asarray(ink, dtype=int), [0]))))
    return [(a / PX_PER_MM, b / PX_PER_MM) for a, b in zip(edges[::2], edges[1::2], strict=True)]
