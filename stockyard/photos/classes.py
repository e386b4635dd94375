"""What the learned reader tells apart, and the scale it reads a face at."""

CLASSES = (
    "ground",
    "clear",
    "sound_knot",
    "unsound_knot",
    "crack",
    "gum",
    "bark",
    "pith",
    "stain",
    "wane",
)
"""In the order of the network's answers. Ground is whatever lies beside the board, clear is sound wood."""

READ_MM = (0.25, 0.5)
"""A pixel of the picture that the network sees, across and along the grain [mm]."""

TOLD_MM = (0.5, 1.0)
"""A point of its answer: half the picture's scale [mm]."""
