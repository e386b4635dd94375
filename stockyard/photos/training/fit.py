"""The course of training: what is shown, what a mistake costs, and when to stop."""

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import torch
from torch.nn import functional

from stockyard.photos.classes import CLASSES
from stockyard.photos.training.distort import UNKNOWN, Dice, Shelf, distorted, taken
from stockyard.photos.training.model import FaceReader

# What a point costs: flaws are a hundredth of a face, and fine ones a thousandth.
_COST = {"ground": 0.5, "clear": 1.0, "crack": 3.0, "gum": 3.5, "bark": 3.0, "pith": 3.0, "stain": 2.0}
_USUAL_COST = 2.5
_SEAM = 0.25  # what a point at the rim of a mark costs: marks are only so true


@dataclass(frozen=True, slots=True)
class Course:
    """steps: batches shown. batch: faces in each. best: the highest learning rate."""

    steps: int = 9000
    batch: int = 32
    best: float = 2.5e-3
    seed: int = 1


def fit(
    shelves: Mapping[str, tuple[Shelf, float]],
    course: Course,
    device: torch.device,
    say: Callable[[str], None],
    start: Mapping[str, torch.Tensor] | None = None,
) -> FaceReader:
    """Train a reader.

    shelves: faces and the share of every batch that comes from them. start: weights to go on from.
    """
    torch.manual_seed(course.seed)
    dice = Dice(course.seed, device)
    reader = FaceReader().to(device).to(memory_format=torch.channels_last)
    if start:
        reader.load_state_dict(
            {name: one.float() if one.is_floating_point() else one for name, one in start.items()}
        )
    steady = FaceReader().to(device).eval()
    steady.load_state_dict(reader.state_dict())
    keep = torch.optim.AdamW(reader.parameters(), lr=course.best, weight_decay=1e-3)
    cost = torch.tensor([_COST.get(name, _USUAL_COST) for name in CLASSES], device=device)
    counts = _counts({name: share for name, (_, share) in shelves.items()}, course.batch)
    began, running = time.perf_counter(), 0.0
    for step in range(course.steps):
        rate = course.best * _ramp(step / course.steps)
        for group in keep.param_groups:
            group["lr"] = rate
        parts = [
            taken(shelf, dice.which(counts[name], len(shelf.pictures)), dice)
            for name, (shelf, _) in shelves.items()
        ]
        picture = torch.cat([one for one, _ in parts])
        labels = torch.cat([two for _, two in parts])
        order = torch.randperm(len(picture), device=device)
        picture, labels = distorted(picture[order], labels[order], dice)
        picture = picture.contiguous(memory_format=torch.channels_last)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            told = reader(picture)
        wrong = loss(told.float(), labels, cost)
        keep.zero_grad(set_to_none=True)
        wrong.backward()
        torch.nn.utils.clip_grad_norm_(reader.parameters(), 2.0)
        keep.step()
        _follow(steady, reader, min(0.999, (1 + step) / (10 + step)))
        running = wrong.detach() if step == 0 else 0.98 * running + 0.02 * wrong.detach()
        if step % 200 == 199 or step == course.steps - 1:
            pace = (step + 1) / (time.perf_counter() - began)
            say(f"step {step + 1} of {course.steps}: loss {float(running):.4f}, {pace:.1f} a second")
    return steady


def loss(told: torch.Tensor, labels: torch.Tensor, cost: torch.Tensor) -> torch.Tensor:
    """Cross entropy, dearer where it is unsure, and the overlap of every flaw.

    told: (n, classes, rows / 2, columns / 2) logits. labels: (n, rows, columns), UNKNOWN where none is known.
    """
    told = functional.interpolate(told, labels.shape[-2:], mode="bilinear", align_corners=False)
    known = labels != UNKNOWN
    safe = torch.where(known, labels, torch.zeros_like(labels))
    weight = known.float() * _away_from_seams(labels)
    log = functional.log_softmax(told, 1)
    own = log.gather(1, safe[:, None])[:, 0]
    each = -own * (1 + 1.0 * (1 - own.exp()) ** 2) * cost[safe]
    mean = (each * weight).sum() / weight.sum().clamp(min=1)
    likely = log.exp() * weight[:, None]
    true = functional.one_hot(safe, len(CLASSES)).permute(0, 3, 1, 2) * weight[:, None]
    shared, both = (likely * true).sum((2, 3)), (likely + true).sum((2, 3))
    # Over the batch, class by class: a face without a flaw has no overlap to speak of.
    overlap = (2 * shared.sum(0) + 20) / (both.sum(0) + 20)
    return mean + 0.5 * (1 - overlap[2:]).mean()


def _away_from_seams(labels: torch.Tensor) -> torch.Tensor:
    field = labels.float()[:, None]
    high = functional.max_pool2d(field, 3, 1, 1)
    low = -functional.max_pool2d(-field, 3, 1, 1)
    return torch.where(high != low, _SEAM, 1.0)[:, 0]


def _ramp(at: float) -> float:
    return min(1.0, at / 0.03) * (0.5 + 0.5 * math.cos(math.pi * at)) + 1e-3


def _follow(steady: FaceReader, reader: FaceReader, share: float) -> None:
    with torch.no_grad():
        for kept, new in zip(steady.state_dict().values(), reader.state_dict().values(), strict=True):
            if kept.dtype.is_floating_point:
                kept.lerp_(new, 1 - share)
            else:
                kept.copy_(new)


def _counts(shares: Mapping[str, float], batch: int) -> dict[str, int]:
    whole = sum(shares.values())
    return {name: max(1, round(batch * share / whole)) for name, share in shares.items()}
