"""Colour difference as the eye sees it."""

from functools import lru_cache

Lab = tuple[float, float, float]  # CIELAB L*, a*, b* under D65


@lru_cache(maxsize=65536)
def colour_difference(first: Lab, second: Lab) -> float:
    """CIEDE2000 difference of two CIELAB colours, with kL = kC = kH = 1. [dE00, >= 0]

    first, second: (L* 0..100, a*, b*).
    Source: ISO/CIE 11664-6:2014, computed by coloraide, which carries the published test pairs of Sharma,
    Wu and Dalal (2005).
    """
    # Loaded here: `stockyard --help` loads this room and must not pay for a colour library.
    from coloraide import Color

    return float(Color("lab-d65", list(first)).delta_e(Color("lab-d65", list(second)), method="2000"))
