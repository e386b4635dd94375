"""How each kind of defect is marked: its letter, its hatching, and how one defect is put into words."""

from collections.abc import Iterable

from stockyard.timber import Defect, DefectKind, Face

K = DefectKind

LETTERS = {
    K.CRACK: "C",
    K.CHECK: "K",
    K.SPLIT: "L",
    K.SHAKE: "H",
    K.BARK_INCLUSION: "B",
    K.SOUND_KNOT: "N",
    K.UNSOUND_KNOT: "U",
    K.GUM_VEIN: "V",
    K.GUM_POCKET: "G",
    K.BORER_HOLE: "R",
    K.WANE: "W",
    K.DECAY: "D",
    K.PITH: "P",
    K.SAPWOOD: "S",
    K.STAIN: "T",
}
"""One letter for each kind; no two alike."""

HATCH_OF = {
    K.CRACK: "rising",
    K.CHECK: "falling",
    K.SPLIT: "rising-fat",
    K.SHAKE: "falling-fat",
    K.BARK_INCLUSION: "net",
    K.SOUND_KNOT: "rings",
    K.UNSOUND_KNOT: "dots",
    K.GUM_VEIN: "dashes",
    K.GUM_POCKET: "upright",
    K.BORER_HOLE: "solid",
    K.WANE: "level",
    K.DECAY: "grid",
    K.PITH: "steep",
    K.SAPWOOD: "sand",
    K.STAIN: "rain",
}
"""The hatching of each kind; no two alike."""


def kind_words(kind: DefectKind) -> str:
    """A kind as people say it: bark inclusion."""
    return kind.value.replace("_", " ")


def face_words(face: Face) -> str:
    """A or B, or through for a defect on both."""
    return "through" if face is Face.BOTH else face.value


def keyed(defects: Iterable[Defect]) -> list[tuple[str, Defect]]:
    """Defects in order from end 1, each with its key: the letter of its kind and a running number."""
    ordered = sorted(defects, key=lambda defect: (span(defect), defect.id))
    return [(f"{LETTERS[defect.kind]}{number}", defect) for number, defect in enumerate(ordered, 1)]


def span(defect: Defect) -> tuple[float, float, float, float]:
    """The upright box around an outline as (x0, y0, x1, y1). [mm, board frame]"""
    xs, ys = [x for x, _ in defect.outline], [y for _, y in defect.outline]
    return min(xs), min(ys), max(xs), max(ys)


def size_words(defect: Defect) -> str:
    """Its size along and across: 145 × 15."""
    x0, y0, x1, y1 = span(defect)
    return f"{shown(x1 - x0)} × {shown(y1 - y0)}"


def depth_words(defect: Defect) -> str:
    """What is known of its depth and opening: "3 deep, open 0.4"; empty when nothing is."""
    known = []
    if defect.depth_mm is not None and not defect.through:
        known.append(f"{shown(defect.depth_mm)} deep")
    if defect.opening_mm is not None:
        known.append(f"open {shown(defect.opening_mm)}")
    return ", ".join(known)


def spoken(defect: Defect) -> str:
    """One defect as a sentence."""
    x0, y0, x1, y1 = span(defect)
    where = "through both faces" if defect.through else f"on face {defect.face.value}"
    more = f", {depth_words(defect)}" if depth_words(defect) else ""
    return (
        f"{kind_words(defect.kind)} {where}, {shown(x0)} to {shown(x1)} mm from end 1,"
        f" {shown(y0)} to {shown(y1)} mm from edge 1{more}"
    )


def range_words(low_mm: float, high_mm: float, dash: str = " – ") -> str:
    """Where something reaches from and to, in whole mm: 310 – 455, or 141 for what is thinner than that."""
    low, high = f"{low_mm:.0f}", f"{high_mm:.0f}"
    return low if low == high else f"{low}{dash}{high}"


def shown(length_mm: float) -> str:
    """A length as it is written on a sheet: at most one decimal, none where it is whole."""
    return f"{round(length_mm, 1):g}" if length_mm < 1e5 else f"{length_mm:.0f}"
