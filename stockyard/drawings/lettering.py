"""How wide a line of writing is, near enough never to run into its neighbour.

A sheet names only generic families, so the reader's own fonts set it. The widths here are those of a wide
sans serif face, the widest a reader is likely to have; narrower fonts leave a little air.
"""

from unicodedata import category, east_asian_width

ELLIPSIS = "…"
_NARROW, _SLIM, _ROUND, _BROAD = 0.34, 0.44, 0.64, 0.99
_WIDTHS = {
    **dict.fromkeys("iIjl.,:;'|!` ", _NARROW),
    **dict.fromkeys('()[]/\\-frt"', _SLIM),
    **dict.fromkeys("mMwW@%", _BROAD),
    **dict.fromkeys("ABCDEFGHKLNPRSTUVXYZ&", 0.72),
    **dict.fromkeys("OQ+=<>×–~", 0.84),
}


def width_mm(text: str, size_mm: float, bold: bool = False, serif: bool = False) -> float:
    """How wide `text` is when set `size_mm` high. [mm of paper]"""
    ems = sum(_ems(letter) for letter in text)
    return ems * size_mm * (1.12 if bold else 1.0) * (1.04 if serif else 1.0)


def fitted(text: str, room_mm: float, size_mm: float, bold: bool = False, serif: bool = False) -> str:
    """`text`, cut short with an ellipsis where it would be wider than the room. [mm of paper]"""
    # A line sized to fit exactly must not lose its end to the last bit of a float.
    if width_mm(text, size_mm, bold, serif) <= room_mm + 1e-6:
        return text
    kept = text
    while kept and width_mm(kept.rstrip() + ELLIPSIS, size_mm, bold, serif) > room_mm:
        kept = kept[:-1]
    return kept.rstrip() + ELLIPSIS


def wrapped(text: str, room_mm: float, size_mm: float, bold: bool = False, serif: bool = False) -> list[str]:
    """`text` in lines that fit the room, broken between words; a word too long for it is cut short. [mm]"""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer, size_mm, bold, serif) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(fitted(word, room_mm, size_mm, bold, serif))
    return lines


def size_to_fit(
    text: str, room_mm: float, size_mm: float, least_mm: float, bold: bool = False, serif: bool = False
) -> float:
    """The size at which `text` fits the room, not above `size_mm` nor below `least_mm`. [mm of paper]"""
    wide = width_mm(text, size_mm, bold, serif)
    return size_mm if wide <= room_mm else max(least_mm, size_mm * room_mm / wide)


def _ems(letter: str) -> float:
    if letter in _WIDTHS:
        return _WIDTHS[letter]
    if category(letter) in ("Mn", "Me"):
        return 0.0
    return 1.05 if east_asian_width(letter) in "WF" or ord(letter) > 0xFFFF else _ROUND
