"""Flaws drawn into a face: each paints itself and says its outline in the board's frame [mm]."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from tests.photos.render.species import Lab, Look
from tests.photos.render.texture import Field, KnotPlace, Rng, noise

Outline = list[tuple[float, float]]


@dataclass
class Truth:
    """One flaw as it was drawn. opening_mm, length_mm: of cracks. through: it shows on both faces."""

    kind: str
    outline_mm: Outline
    opening_mm: float | None = None
    length_mm: float | None = None
    through: bool = False


@dataclass
class Canvas:
    """A face being drawn: lab (rows, columns, 3) float32, the run of its grain, and its scale."""

    lab: npt.NDArray[np.float32]
    grain: Field
    mm_per_px: float
    truths: list[Truth] = field(default_factory=list)

    @property
    def width_mm(self) -> float:
        return self.lab.shape[0] * self.mm_per_px

    @property
    def length_mm(self) -> float:
        return self.lab.shape[1] * self.mm_per_px

    def along_grain(self, x: npt.NDArray[np.float64], line: float) -> npt.NDArray[np.float64]:
        """The y at each x of the grain line y + grain = `line`."""
        y = np.full_like(x, line)
        columns = np.clip((x / self.mm_per_px).astype(int), 0, self.lab.shape[1] - 1)
        for _ in range(8):
            rows = np.clip(((self.width_mm - y) / self.mm_per_px).astype(int), 0, self.lab.shape[0] - 1)
            y = 0.5 * y + 0.5 * (line - self.grain[rows, columns])
        return y

    def line_at(self, x: float, y: float) -> float:
        """The grain line through a point."""
        row = int(np.clip((self.width_mm - y) / self.mm_per_px, 0, self.lab.shape[0] - 1))
        column = int(np.clip(x / self.mm_per_px, 0, self.lab.shape[1] - 1))
        return y + float(self.grain[row, column])

    def cover(self, outline: Outline, margin_mm: float = 0) -> tuple[tuple[slice, slice], Field] | None:
        """How much of each pixel the outline covers (0..1), and where that is. None when off the face."""
        fine = 4
        points = np.array(outline) / self.mm_per_px
        points[:, 1] = self.lab.shape[0] - points[:, 1]
        pad = margin_mm / self.mm_per_px + 2
        low = np.maximum(np.floor(points.min(0) - pad).astype(int), 0)
        high = np.minimum(np.ceil(points.max(0) + pad).astype(int), self.lab.shape[1::-1])
        if (high <= low).any():
            return None
        mask = np.zeros(((high[1] - low[1]) * fine, (high[0] - low[0]) * fine), np.uint8)
        cv2.fillPoly(mask, [np.round((points - low) * fine * 16).astype(np.int32)], 255, shift=4)
        size = (int(high[0] - low[0]), int(high[1] - low[1]))
        covered = cv2.resize(mask, size, interpolation=cv2.INTER_AREA).astype(np.float32) / 255
        return (slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))), covered

    def tint(self, place: tuple[slice, slice], share: Field, colour: Lab) -> None:
        """Lay a colour over a place, `share` of it."""
        self.lab[place] += share[..., None] * (np.array(colour, np.float32) - self.lab[place])


def crack(
    canvas: Canvas, rng: Rng, x0: float, x1: float, y: float, opening_mm: float, kind: str = "crack",
    through: bool = False, note: bool = True,
) -> None:  # fmt: skip
    """A crack along the grain from x0 to x1 through (their middle, y); open at an end it reaches."""
    x = np.arange(x0, x1 + 0.01, 2.0)
    centre = canvas.along_grain(x, canvas.line_at((x0 + x1) / 2, y))
    centre = centre + np.interp(
        x, x[:: max(1, len(x) // 12)], rng.normal(0, 0.25, len(x[:: max(1, len(x) // 12)]))
    )
    t = (x - x0) / (x1 - x0)
    left = np.ones_like(t) if x0 <= 0 else np.clip(t / 0.25, 0, 1)
    right = np.ones_like(t) if x1 >= canvas.length_mm else np.clip((1 - t) / 0.25, 0, 1)
    opening = (
        opening_mm * np.sqrt(np.minimum(left, right)) * (1 + 0.15 * rng.standard_normal(len(x)).clip(-2, 2))
    )
    opening = np.maximum(opening, 0.06)
    outline = [(float(a), float(b)) for a, b in zip(x, centre + opening / 2, strict=True)]
    outline += [(float(a), float(b)) for a, b in zip(x[::-1], (centre - opening / 2)[::-1], strict=True)]
    found = canvas.cover(outline, 1)
    if found is None:
        return
    place, covered = found
    dark = canvas.lab[place].mean((0, 1))
    canvas.tint(
        place, covered * 0.93, (max(4.0, 0.16 * float(dark[0])), 0.4 * float(dark[1]), 0.3 * float(dark[2]))
    )
    if note:
        canvas.truths.append(Truth(kind, outline, opening_mm, float(x1 - x0), through))


def checks(canvas: Canvas, rng: Rng, x: float, y: float, count: int) -> None:
    """A family of short, fine drying checks about a place."""
    for _ in range(count):
        length = rng.uniform(35, 80)
        start = float(np.clip(x + rng.uniform(-60, 60), 0, canvas.length_mm - length - 1))
        across = float(np.clip(y + rng.normal(0, 14), 4, canvas.width_mm - 4))
        crack(canvas, rng, start, start + length, across, rng.uniform(0.4, 0.7), "check")


def _ellipse(x: float, y: float, along: float, across: float, turn: float, rough: float, rng: Rng) -> Outline:
    angle = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    wobble = 1 + rough * noise(rng, (1, 40), 1, 6)[0]
    a, b = along * np.cos(angle) * wobble, across * np.sin(angle) * wobble
    return [
        (float(x + p * np.cos(turn) - q * np.sin(turn)), float(y + p * np.sin(turn) + q * np.cos(turn)))
        for p, q in zip(a, b, strict=True)
    ]


def knot(canvas: Canvas, rng: Rng, look: Look, place: KnotPlace, sound: bool, hole: bool = False) -> None:
    """A knot with its own rings; an unsound one has a rim of bark, cracks, and may have lost its heart."""
    stretch, turn = rng.uniform(0.85, 1.35), rng.uniform(-0.25, 0.25)
    outline = _ellipse(place.x, place.y, place.radius_mm * stretch, place.radius_mm, turn, 0.05, rng)
    found = canvas.cover(outline, place.radius_mm * 0.6)
    if found is None:
        return
    where, covered = found
    rows, columns = covered.shape
    yy = (
        canvas.width_mm
        - (np.arange(where[0].start, where[0].stop)[:, None] + 0.5) * canvas.mm_per_px
        - place.y
    )
    xx = (np.arange(where[1].start, where[1].stop)[None, :] + 0.5) * canvas.mm_per_px - place.x
    p = (xx * np.cos(turn) + yy * np.sin(turn)) / stretch
    q = -xx * np.sin(turn) + yy * np.cos(turn)
    radius = np.hypot(p, q) + noise(rng, (rows, columns), 4 / canvas.mm_per_px, 4 / canvas.mm_per_px) * 0.3
    rings = 0.5 + 0.5 * np.sin(radius / max(0.9, place.radius_mm * 0.09) * 2 * np.pi)
    base = np.array(look.late, np.float32)
    depth = 0.72 if sound else 0.5
    heart = (base[0] * depth, base[1] * 1.1 + 3, base[2] * (1.0 if sound else 0.8))
    soft = cv2.GaussianBlur(covered, (0, 0), 0.6 / canvas.mm_per_px)
    halo = cv2.GaussianBlur(covered, (0, 0), place.radius_mm * 0.25 / canvas.mm_per_px) * 0.45
    canvas.tint(where, halo, (base[0] * 0.9, base[1], base[2]))
    canvas.tint(where, soft * 0.95, heart)
    canvas.lab[where][..., 0] -= soft * rings.astype(np.float32) * 7
    if not sound:
        ring = np.clip(1 - np.abs(radius - place.radius_mm * 0.97) / max(0.7, place.radius_mm * 0.1), 0, 1)
        ring *= np.clip(
            noise(rng, (rows, columns), 6 / canvas.mm_per_px, 6 / canvas.mm_per_px) * 0.4 + 0.8, 0, 1
        )
        canvas.tint(where, ring.astype(np.float32) * soft, (9, 3, 3))
        for angle in rng.uniform(0, np.pi, 2):
            far = place.radius_mm * 0.8
            a = (place.x + far * np.cos(angle), place.y + far * np.sin(angle))
            b = (place.x - far * np.cos(angle), place.y - far * np.sin(angle))
            w = 0.35
            seam = canvas.cover([a, (place.x - w * np.sin(angle), place.y + w * np.cos(angle)), b,
                                 (place.x + w * np.sin(angle), place.y - w * np.cos(angle))])  # fmt: skip
            if seam:
                canvas.tint(*seam, (8, 2, 2))
        if hole:
            gone = canvas.cover(
                _ellipse(place.x, place.y, place.radius_mm * 0.7, place.radius_mm * 0.6, turn, 0.1, rng)
            )
            if gone:
                canvas.tint(*gone, (4, 1, 1))
    canvas.truths.append(Truth("sound_knot" if sound else "unsound_knot", outline, through=True))


def blob(
    canvas: Canvas, rng: Rng, kind: str, x: float, y: float, along: float, across: float, colour: Lab,
    strength: float = 0.95, rough: float = 0.16, soft_mm: float = 0.3, lean: float = 0.1,
) -> None:  # fmt: skip
    """A patch about along x across [mm, half axes] with a fibrous inside: bark, gum pocket, stain, decay."""
    outline = _ellipse(x, y, along, across, rng.uniform(-lean, lean), rough, rng)
    found = canvas.cover(outline, soft_mm * 3 + 1)
    if found is None:
        return
    place, covered = found
    covered = cv2.GaussianBlur(covered, (0, 0), max(0.4, soft_mm / canvas.mm_per_px))
    inside = noise(rng, covered.shape, 1.2 / canvas.mm_per_px, 9 / canvas.mm_per_px)
    canvas.tint(place, covered * strength, colour)
    canvas.lab[place][..., 0] += covered * strength * inside * 2.5
    canvas.truths.append(Truth(kind, outline))


def gum_vein(canvas: Canvas, rng: Rng, look: Look, x0: float, x1: float, y: float, width_mm: float) -> None:
    """A dark band along the grain, swelling and thinning."""
    x = np.arange(x0, x1, 2.0)
    centre = canvas.along_grain(x, canvas.line_at((x0 + x1) / 2, y)) + noise(rng, (1, len(x)), 1, 20)[0] * 0.6
    t = (x - x0) / (x1 - x0)
    swell = np.clip(np.minimum(t, 1 - t) / 0.1, 0.1, 1) * (1 + 0.45 * noise(rng, (1, len(x)), 1, 9)[0]).clip(
        0.3, 2
    )
    half = width_mm / 2 * swell
    outline = [(float(a), float(b)) for a, b in zip(x, centre + half, strict=True)]
    outline += [(float(a), float(b)) for a, b in zip(x[::-1], (centre - half)[::-1], strict=True)]
    found = canvas.cover(outline, 2)
    if found is None:
        return
    place, covered = found
    canvas.tint(place, cv2.GaussianBlur(covered, (0, 0), 0.25 / canvas.mm_per_px) * 0.9, look.gum)
    canvas.truths.append(Truth("gum_vein", outline))


def holes(canvas: Canvas, rng: Rng, x: float, y: float, count: int) -> None:
    """Borer holes of 1.5 to 3 mm, round and black."""
    for _ in range(count):
        radius = rng.uniform(0.75, 1.5)
        a, b = x + rng.normal(0, 20), float(np.clip(y + rng.normal(0, 10), 4, canvas.width_mm - 4))
        outline = _ellipse(a, b, radius, radius, 0, 0.03, rng)
        found = canvas.cover(outline, 2)
        if found:
            canvas.tint(found[0], found[1], (4, 1, 1))
            canvas.truths.append(Truth("borer_hole", outline, through=True))


def wane(canvas: Canvas, rng: Rng, x0: float, x1: float, depth_mm: float, edge: int) -> None:
    """The round of the tree on edge 1 or 2: bark at the rim, wood falling away from the face."""
    x = np.arange(max(0, x0), min(x1, canvas.length_mm) + 0.01, 4.0)
    t = (x - x0) / (x1 - x0)
    depth = depth_mm * np.sin(np.pi * np.clip(t, 0, 1)) ** 0.7 + noise(rng, (1, len(x)), 1, 8)[0] * 0.5
    depth = depth.clip(0.3, canvas.width_mm / 3)
    rim = np.zeros_like(x) if edge == 1 else np.full_like(x, canvas.width_mm)
    inner = depth if edge == 1 else canvas.width_mm - depth
    outline = [(float(a), float(b)) for a, b in zip(x, rim, strict=True)]
    outline += [(float(a), float(b)) for a, b in zip(x[::-1], inner[::-1], strict=True)]
    found = canvas.cover(outline, 1)
    if found is None:
        return
    place, covered = found
    rough = noise(rng, covered.shape, 1.5 / canvas.mm_per_px, 5 / canvas.mm_per_px)
    canvas.tint(place, covered * 0.92, (20, 7, 10))
    canvas.lab[place][..., 0] += covered * rough * 4
    canvas.truths.append(Truth("wane", outline))
