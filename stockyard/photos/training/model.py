"""The network: from a picture at the reading scale to what each point is, at half that scale."""

from collections.abc import Sequence
from pathlib import Path

import torch
from torch import nn
from torch.nn import functional
from torch.nn.utils.fusion import fuse_conv_bn_eval

from stockyard.photos.classes import CLASSES
from stockyard.photos.net import asked_of

WIDTHS = (32, 48, 88, 128)


def _layer(ins: int, outs: int, size: int = 3, step: int = 1, spread: int = 1) -> nn.Sequential:
    pad = spread * (size // 2)
    convolve = nn.Conv2d(ins, outs, size, step, padding=pad, dilation=spread, bias=False)
    return nn.Sequential(convolve, nn.BatchNorm2d(outs), nn.ReLU(inplace=True))


class Turn(nn.Module):
    """Two layers added to what came in."""

    def __init__(self, width: int, spread: int = 1) -> None:
        super().__init__()
        self.first = _layer(width, width, spread=spread)
        self.second = nn.Sequential(
            nn.Conv2d(width, width, 3, padding=1, bias=False), nn.BatchNorm2d(width), nn.Identity()
        )

    def forward(self, seen: torch.Tensor) -> torch.Tensor:
        """(n, width, rows, columns) as it came."""
        return functional.relu(seen + self.second(self.first(seen)))


class FaceReader(nn.Module):
    """An encoder to a sixteenth of the picture and a light way back up to half of it.

    Takes (n, 3, rows, columns), red first, 0..1, both sizes multiples of 16; gives logits
    (n, len(CLASSES), rows / 2, columns / 2).
    """

    def __init__(self, widths: Sequence[int] = WIDTHS) -> None:
        super().__init__()
        one, two, three, four = widths
        self.down1 = nn.Sequential(_layer(3, one, 5, 2), _layer(one, one))
        self.down2 = nn.Sequential(_layer(one, two, step=2), Turn(two))
        self.down3 = nn.Sequential(_layer(two, three, step=2), Turn(three), Turn(three, 2))
        self.down4 = nn.Sequential(_layer(three, four, step=2), Turn(four, 2), Turn(four, 4))
        self.up4, self.mix3 = nn.Conv2d(four, three, 1), _layer(three, three)
        self.up3, self.mix2 = nn.Conv2d(three, two, 1), _layer(two, two)
        self.up2, self.mix1 = nn.Conv2d(two, one, 1), _layer(one, one)
        self.told = nn.Conv2d(one, len(CLASSES), 1)

    def forward(self, picture: torch.Tensor) -> torch.Tensor:
        """Logits of every class at half scale."""
        one = self.down1(picture * 4 - 2)
        two = self.down2(one)
        three = self.down3(two)
        back = self.mix3(three + _twice(self.up4(self.down4(three))))
        back = self.mix2(two + _twice(self.up3(back)))
        back = self.mix1(one + _twice(self.up2(back)))
        told: torch.Tensor = self.told(back)
        return told


def _twice(field: torch.Tensor) -> torch.Tensor:
    return functional.interpolate(field, scale_factor=2, mode="nearest")


def fused(reader: FaceReader) -> FaceReader:
    """The same reader for use: every normalisation taken into the layer before it."""
    reader = reader.eval()
    for part in reader.modules():
        if isinstance(part, nn.Sequential) and len(part) == 3 and isinstance(part[1], nn.BatchNorm2d):
            part[0], part[1] = fuse_conv_bn_eval(part[0], part[1]), nn.Identity()
    return reader


def to_onnx(reader: FaceReader, file: Path) -> None:
    """Write a reader as ONNX, of any size that is a multiple of 16."""
    free = {2: "rows", 3: "columns"}
    torch.onnx.export(
        fused(reader), (torch.zeros(1, 3, 64, 64),), str(file), input_names=["picture"], dynamo=False,
        output_names=["told"], opset_version=13, dynamic_axes={"picture": free, "told": free},
    )  # fmt: skip


def proved(reader: FaceReader, file: Path, rows: int = 160, columns: int = 272) -> float:
    """How far OpenCV's answers from the file are at most from the network's own; raises past 0.001."""
    picture = torch.rand((1, 3, rows, columns), generator=torch.Generator().manual_seed(3))
    with torch.no_grad():
        own = reader.eval()(picture).numpy()
    apart = float(abs(asked_of(file, file.read_bytes())(picture.numpy()) - own).max())
    if apart > 1e-3:
        raise ValueError(f"{file.name}: OpenCV's answers are {apart:.2g} from the network's own")
    return apart
