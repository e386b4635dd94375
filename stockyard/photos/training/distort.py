"""What a camera, a lamp, a saw and a bench do to a face, done to a batch on the processor that trains."""

from dataclasses import dataclass

import torch
from torch.nn import functional

from stockyard.photos.classes import CLASSES, READ_MM
from stockyard.photos.training.marked import Marked

UNKNOWN = 255
CROP = (576, 192)  # (rows across, columns along) at READ_MM


@dataclass
class Shelf:
    """Faces kept where training runs. pictures: (n, 3, rows, columns). labels: (n, 1, rows, columns)."""

    pictures: torch.Tensor
    labels: torch.Tensor
    mm: tuple[float, float]

    @classmethod
    def of(cls, marked: Marked, chosen: list[int], device: torch.device) -> "Shelf":
        """Take some of the marked faces."""
        pictures = torch.from_numpy(marked.pictures[chosen]).permute(0, 3, 1, 2).contiguous()
        labels = torch.from_numpy(marked.labels[chosen])[:, None].contiguous()
        return cls(pictures.to(device), labels.to(device), marked.mm)


class Dice:
    """Seeded chance on the training processor."""

    def __init__(self, seed: int, device: torch.device) -> None:
        self.device = device
        self._source = torch.Generator(device=device)
        self._source.manual_seed(seed)

    def even(self, low: float, high: float, *shape: int) -> torch.Tensor:
        """Numbers between low and high."""
        return low + (high - low) * torch.rand(shape, generator=self._source, device=self.device)

    def spread(self, size: float, *shape: int) -> torch.Tensor:
        """Numbers about 0."""
        return size * torch.randn(shape, generator=self._source, device=self.device)

    def some(self, share: float, count: int) -> torch.Tensor:
        """True for about that share, as (count, 1, 1, 1)."""
        return torch.rand((count, 1, 1, 1), generator=self._source, device=self.device) < share

    def which(self, count: int, below: int) -> torch.Tensor:
        """Whole numbers below a bound."""
        return torch.randint(0, below, (count,), generator=self._source, device=self.device)


def taken(
    shelf: Shelf, which: torch.Tensor, dice: Dice, plain: bool = False
) -> tuple[torch.Tensor, torch.Tensor]:
    """Crops of some faces: (n, 3, *CROP) 0..1 and (n, *CROP) labels, turned and brought to many scales.

    plain: the middle of each face as it is, for checking.
    """
    count, device = len(which), dice.device
    pictures, labels = shelf.pictures[which].float() / 255, shelf.labels[which].float()
    rows, columns = pictures.shape[-2:]
    size_mm = torch.tensor([columns * shelf.mm[1], rows * shelf.mm[0]], device=device)
    crop_mm = torch.tensor([CROP[1] * READ_MM[1], CROP[0] * READ_MM[0]], device=device)
    if plain:
        scale = torch.ones(count, 2, device=device)
        angle, flip = torch.zeros(count, device=device), torch.ones(count, 2, device=device)
    else:
        both = torch.exp(dice.even(-0.25, 0.25, count, 1))
        scale = both * torch.exp(
            torch.cat([dice.even(-0.35, 0.35, count, 1), dice.even(-0.12, 0.12, count, 1)], 1)
        )
        angle = dice.spread(0.025, count)
        flip = torch.sign(dice.even(-1, 1, count, 2))
    # Where the crop's middle lies on the face: anywhere that keeps the crop mostly on the picture.
    free = (size_mm - 0.9 * crop_mm * scale).clamp(min=4.0) / 2
    middle = torch.zeros(count, 2, device=device) if plain else dice.even(-1, 1, count, 2) * free
    stretch = flip * scale * crop_mm / size_mm
    ratio = size_mm[1] / size_mm[0]
    turn = torch.zeros(count, 2, 3, device=device)
    turn[:, 0, 0], turn[:, 0, 1] = stretch[:, 0] * angle.cos(), -stretch[:, 1] * angle.sin() * ratio
    turn[:, 1, 0], turn[:, 1, 1] = stretch[:, 0] * angle.sin() / ratio, stretch[:, 1] * angle.cos()
    turn[:, :, 2] = 2 * middle / size_mm
    grid = functional.affine_grid(turn, [count, 3, *CROP], align_corners=False)
    picture = functional.grid_sample(pictures, grid, padding_mode="border", align_corners=False)
    near = (
        functional.grid_sample(labels + 1, grid, mode="nearest", align_corners=False)[:, 0].round().long() - 1
    )
    return picture, torch.where(near < 0, torch.full_like(near, UNKNOWN), near)


def distorted(picture: torch.Tensor, labels: torch.Tensor, dice: Dice) -> tuple[torch.Tensor, torch.Tensor]:
    """A batch as other lamps, lenses, files and benches would have shown it."""
    picture, labels = _other_ground(picture, labels, dice)
    picture, labels = _cut_off(picture, labels, dice)
    picture = _other_colour(picture, dice)
    picture = _drawn_over(picture, dice)
    picture = _other_light(picture, dice)
    picture = _soft_or_sharp(picture, dice)
    picture = _coarse(picture, dice)
    count = len(picture)
    grain = dice.spread(1.0, *picture.shape) * dice.even(0, 0.025, count, 1, 1, 1) * dice.some(0.6, count)
    picture = (picture + grain).clamp(0, 1)
    return _squeezed(picture, dice).clamp(0, 1), labels


def _plane(dice: Dice, count: int) -> tuple[torch.Tensor, torch.Tensor]:
    """Columns and rows in millimetres from the middle, (1, 1, 1, columns) and (1, 1, rows, 1)."""
    x = (torch.arange(CROP[1], device=dice.device) - CROP[1] / 2) * READ_MM[1]
    y = (torch.arange(CROP[0], device=dice.device) - CROP[0] / 2) * READ_MM[0]
    return x.view(1, 1, 1, -1), y.view(1, 1, -1, 1)


def _smooth(dice: Dice, count: int, rows: int, columns: int) -> torch.Tensor:
    coarse = dice.spread(1.0, count, 1, rows, columns)
    return functional.interpolate(coarse, CROP, mode="bicubic", align_corners=True)


def _other_ground(
    picture: torch.Tensor, labels: torch.Tensor, dice: Dice
) -> tuple[torch.Tensor, torch.Tensor]:
    count = len(picture)
    colour = dice.even(0, 1, count, 1, 1, 1) ** 1.5 * dice.even(0.85, 1.15, count, 3, 1, 1)
    bench = colour * (1 + 0.08 * _smooth(dice, count, 24, 12)) + dice.spread(0.02, *picture.shape)
    swap = dice.some(0.3, count) & (labels == CLASSES.index("ground"))[:, None]
    return torch.where(swap, bench.clamp(0, 1), picture), labels


def _cut_off(picture: torch.Tensor, labels: torch.Tensor, dice: Dice) -> tuple[torch.Tensor, torch.Tensor]:
    """A part of the crop beyond a sawn end or a ripped edge: ground."""
    count = len(picture)
    x, y = _plane(dice, count)
    ends = dice.some(0.5, count)
    reach = torch.where(ends, dice.even(0.1, 0.5, count, 1, 1, 1) * CROP[1] * READ_MM[1],
                        dice.even(0.15, 0.5, count, 1, 1, 1) * CROP[0] * READ_MM[0])  # fmt: skip
    lean = dice.spread(0.02, count, 1, 1, 1)
    side = torch.sign(dice.even(-1, 1, count, 1, 1, 1))
    far = torch.where(ends, x + lean * y, y + lean * x) * side > reach
    gone = far & dice.some(0.15, count)
    colour = dice.even(0, 1, count, 1, 1, 1) ** 1.5 * dice.even(0.85, 1.15, count, 3, 1, 1)
    bench = (colour * (1 + 0.06 * _smooth(dice, count, 24, 12)) + dice.spread(0.02, *picture.shape)).clamp(
        0, 1
    )
    ground = torch.full_like(labels, CLASSES.index("ground"))
    return torch.where(gone, bench, picture), torch.where(gone[:, 0], ground, labels)


def _other_colour(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    """Casts, exposure, contrast and saturation; now and then another wood's colour altogether."""
    count = len(picture)
    gain = 1 + dice.spread(0.06, count, 3, 1, 1) * dice.some(0.7, count)
    gamma = torch.exp(dice.spread(0.15, count, 1, 1, 1))
    other = dice.some(0.25, count)
    gamma = torch.where(other, gamma * dice.even(0.9, 1.5, count, 1, 1, 1), gamma)
    gain = torch.where(
        other, gain * dice.even(0.35, 1.1, count, 1, 1, 1) * dice.even(0.75, 1.2, count, 3, 1, 1), gain
    )
    picture = picture.clamp(1e-4, 1) ** gamma * gain
    grey = picture.mean(1, keepdim=True)
    picture = grey + (picture - grey) * dice.even(0.5, 1.35, count, 1, 1, 1)
    level = picture.mean((1, 2, 3), keepdim=True)
    bright = torch.exp(dice.spread(0.15, count, 1, 1, 1))
    return ((picture - level) * dice.even(0.75, 1.3, count, 1, 1, 1) + level) * bright


def _drawn_over(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    """Saw marks, pencil lines, scratches and dust."""
    count = len(picture)
    x, y = _plane(dice, count)
    pitch, lean = dice.even(2, 8, count, 1, 1, 1), dice.spread(0.15, count, 1, 1, 1)
    bend = dice.even(0, 0.0015, count, 1, 1, 1)
    wave = torch.sin((x + lean * y + bend * y * y) * (6.2832 / pitch))
    patch = _smooth(dice, count, 6, 3).clamp(0, 1)
    picture = picture * (1 + wave * patch * dice.even(0, 0.06, count, 1, 1, 1) * dice.some(0.3, count))
    for _ in range(3):
        angle = 1.5708 + dice.spread(0.3, count, 1, 1, 1)
        px, py = dice.even(-45, 45, count, 1, 1, 1), dice.even(-60, 60, count, 1, 1, 1)
        along = (x - px) * angle.cos() + (y - py) * angle.sin()
        off = ((x - px) * angle.sin() - (y - py) * angle.cos()).abs()
        half, reach = dice.even(0.1, 0.4, count, 1, 1, 1), torch.exp(dice.even(1.5, 4.6, count, 1, 1, 1))
        share = ((half - off) / 0.35 + 0.6).clamp(0, 1) * (along.abs() < reach)
        change = torch.where(dice.some(0.5, count), dice.even(0.45, 0.9, count, 1, 1, 1),
                             dice.even(1.05, 1.5, count, 1, 1, 1))  # fmt: skip
        picture = picture * (1 + share * (change - 1) * dice.some(0.12, count))
    specks = (_smooth(dice, count, 140, 60) - 2.2).clamp(0, 1) * dice.some(0.15, count)
    return picture + specks * dice.even(0.1, 0.5, count, 1, 1, 1)


def _other_light(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    count = len(picture)
    x, y = _plane(dice, count)
    slope = x / 48 * dice.spread(0.1, count, 1, 1, 1) + y / 72 * dice.spread(0.12, count, 1, 1, 1)
    light = 1 + (slope + 0.05 * _smooth(dice, count, 5, 3)) * dice.some(0.7, count)
    angle = dice.even(0, 6.2832, count, 1, 1, 1)
    edge = x * angle.cos() + y * angle.sin() - dice.even(-40, 40, count, 1, 1, 1)
    dark = torch.sigmoid(edge / dice.even(0.3, 8, count, 1, 1, 1)) * dice.even(0.05, 0.5, count, 1, 1, 1)
    return picture * light * (1 - dark * dice.some(0.12, count))


def _soft_or_sharp(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    """Out of focus or moved, or sharpened by the camera; strengths differ across and along."""
    count = len(picture)
    sizes = dice.even(0.05, 1.6, count, 2)
    reach = torch.arange(-4, 5, device=dice.device).float()
    soft = picture
    for axis in (0, 1):
        kernel = torch.exp(-0.5 * (reach / sizes[:, axis : axis + 1]) ** 2)
        kernel = (kernel / kernel.sum(1, keepdim=True)).repeat_interleave(3, 0)
        shape = (-1, 1, 9, 1) if axis == 0 else (-1, 1, 1, 9)
        pad = (0, 0, 4, 4) if axis == 0 else (4, 4, 0, 0)
        flat = functional.pad(soft.reshape(1, count * 3, *CROP), pad, mode="replicate")
        soft = functional.conv2d(flat, kernel.reshape(shape), groups=count * 3).reshape(picture.shape)
    sharp = picture + (picture - soft) * dice.even(0.2, 1.2, count, 1, 1, 1)
    blur = dice.some(0.45, count)
    return torch.where(blur, soft, torch.where(dice.some(0.25, count), sharp, picture))


def _coarse(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    """Some of the batch as a picture with fewer pixels a millimetre would give it, square ones mostly."""
    count = len(picture)
    part = max(1, count // 10)
    out = []
    for start in range(0, min(count, 5 * part), part):
        pixel_mm = float(torch.exp(dice.even(-1.3, 0.25, 1)))
        uneven = float(torch.exp(dice.spread(0.15, 1)))
        rows = min(CROP[0], round(CROP[0] * READ_MM[0] / pixel_mm))
        columns = min(CROP[1], round(CROP[1] * READ_MM[1] / (pixel_mm * uneven)))
        small = functional.interpolate(picture[start : start + part], (rows, columns), mode="area")
        out.append(functional.interpolate(small, CROP, mode="bilinear", align_corners=False))
    return torch.cat([*out, picture[sum(len(one) for one in out) :]])


def _squeezed(picture: torch.Tensor, dice: Dice) -> torch.Tensor:
    """As a JPEG file of middling quality keeps it: cosines of 8 x 8 blocks in steps."""
    count = len(picture)
    k = torch.arange(8, device=dice.device).float()
    cosines = torch.cos((2 * k[None] + 1) * k[:, None] * 3.14159265 / 16) * 0.5
    cosines[0] /= 2**0.5
    step = (4 + 2.2 * (k[:, None] + k[None])) / 255 * torch.exp(dice.even(-1.5, 0.9, count, 1, 1, 1, 1, 1))
    red, green, blue = picture.unbind(1)
    light = 0.299 * red + 0.587 * green + 0.114 * blue
    planes = torch.stack([light, blue - light, red - light], 1)
    blocks = planes.view(count, 3, CROP[0] // 8, 8, CROP[1] // 8, 8).permute(0, 1, 2, 4, 3, 5)
    waves = cosines @ blocks @ cosines.T
    heavier = torch.tensor([1.0, 2.0, 2.0], device=dice.device).view(1, 3, 1, 1, 1, 1)
    waves = torch.round(waves / (step * heavier)) * step * heavier
    blocks = cosines.T @ waves @ cosines
    light, blue, red = blocks.permute(0, 1, 2, 4, 3, 5).reshape(planes.shape).unbind(1)
    red, blue = red + light, blue + light
    green = (light - 0.299 * red - 0.114 * blue) / 0.587
    kept = torch.stack([red, green, blue], 1)
    return torch.where(dice.some(0.35, count), kept, picture)
