"""The look of a few timbers. Colours are CIELAB, chosen by eye; nothing is measured from them."""

from dataclasses import dataclass

Lab = tuple[float, float, float]


@dataclass(frozen=True)
class Look:
    """early, late, sapwood, gum: CIELAB. ring_mm: a growth ring's usual width. late_share: of a ring.

    ring_contrast: 0..1. pores: "none", "diffuse" or "ring". pore_share: of the face. pore_mm: their length.
    fiddleback, ribbon: strength of figure across and along the grain, 0..1.
    """

    name: str
    early: Lab
    late: Lab
    sapwood: Lab
    gum: Lab
    ring_mm: float
    late_share: float
    ring_contrast: float
    pores: str
    pore_share: float
    pore_mm: float
    fiddleback: float
    ribbon: float


LOOKS = {
    look.name: look
    for look in (
        Look("radiata pine", (80, 6, 28), (62, 14, 36), (83, 4, 24), (40, 20, 36), 5.5, 0.28, 1.0,
             "none", 0.0, 0, 0.0, 0.0),
        Look("tasmanian oak", (69, 9, 22), (62, 11, 24), (74, 6, 22), (24, 14, 14), 4.0, 0.4, 0.45,
             "diffuse", 0.020, 3.0, 0.3, 0.2),
        Look("spotted gum", (49, 12, 20), (43, 13, 20), (66, 7, 22), (18, 10, 9), 6.0, 0.5, 0.35,
             "diffuse", 0.030, 3.5, 0.9, 0.5),
        Look("jarrah", (38, 24, 20), (33, 23, 18), (60, 12, 22), (13, 9, 7), 6.0, 0.5, 0.35,
             "diffuse", 0.030, 3.0, 0.5, 0.7),
        Look("white oak", (66, 8, 24), (57, 10, 25), (75, 5, 22), (30, 12, 18), 3.5, 0.55, 0.6,
             "ring", 0.050, 4.5, 0.0, 0.1),
        Look("rosewood", (38, 22, 26), (17, 10, 9), (66, 8, 24), (10, 6, 4), 2.6, 0.45, 1.0,
             "diffuse", 0.020, 3.0, 0.5, 0.8),
        Look("black walnut", (39, 9, 13), (32, 9, 12), (63, 6, 18), (16, 7, 6), 5.0, 0.45, 0.55,
             "diffuse", 0.022, 4.0, 0.4, 0.3),
    )
}  # fmt: skip
