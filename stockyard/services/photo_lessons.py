"""What people said of suggestions, as lessons: how the reader does on this yard's boards, a set to train on.

    score_lessons(open_work, which)          -> LessonScore
    export_lessons(open_work, which, folder) -> ExportedLessons

A face is a lesson once someone has decided on every suggestion of its newest reading: what is on its map then
is what is there. Faces of boards logged at another size since are left out.
"""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stockyard.errors import BadInput
from stockyard.services.suggest_defects import Boards, ReadFace, faces_of, pieces_named
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.mapped_defect import DefectOrigin, MappedDefect
from stockyard.timber.photo import Verdict

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork

_STEPS = 5  # how finely sureness is set against being right


@dataclass(frozen=True, slots=True)
class KindScore:
    """Of one kind: accepted as suggested, corrected, rejected; missed: mapped by hand beside them."""

    kind: DefectKind
    accepted: int = 0
    corrected: int = 0
    rejected: int = 0
    missed: int = 0


@dataclass(frozen=True, slots=True)
class LessonScore:
    """How suggestions did on the faces that were decided on.

    precision: of suggestions, the share that was right; recall: of flaws, the share that was suggested; None
    where there are none. off_by: how far sureness is from the share that was right, on average (expected
    calibration error over five steps).
    """

    faces: int
    kinds: tuple[KindScore, ...]
    precision: float | None
    recall: float | None
    off_by: float | None


@dataclass(frozen=True, slots=True)
class ExportedLessons:
    """What was written: faces, and the pieces they were cut to."""

    folder: Path
    faces: int
    pieces: int


def score_lessons(open_work: "OpenWork", which: Boards) -> LessonScore:
    """Set what was suggested against what people said. Raises NotFound."""
    tallies: dict[str, Counter[DefectKind]] = {
        name: Counter() for name in ("accepted", "corrected", "rejected", "missed")
    }
    told: list[tuple[float, bool]] = []
    learned = _decided(open_work, which)
    for face, mapped in learned:
        for offer in face.offers:
            decided = offer.suggested.decided
            assert decided is not None
            right = decided.verdict is not Verdict.REJECTED
            name = "rejected" if not right else "corrected" if decided.changed else "accepted"
            tallies[name][offer.suggested.kind] += 1
            told.append((offer.suggested.confidence, right))
        known = {
            offer.suggested.decided.defect for offer in face.offers if offer.suggested.decided is not None
        }
        for each in mapped:
            if each.origin is DefectOrigin.HAND and each.defect.id not in known:
                tallies["missed"][each.defect.kind] += 1
    kinds = tuple(
        KindScore(kind, **{name: tally[kind] for name, tally in tallies.items()})
        for kind in DefectKind
        if any(tally[kind] for tally in tallies.values())
    )
    correct = sum(was for _, was in told)
    missed = sum(tallies["missed"].values())
    return LessonScore(
        len(learned),
        kinds,
        correct / len(told) if told else None,
        correct / (correct + missed) if correct + missed else None,
        _off_by(told),
    )


def export_lessons(open_work: "OpenWork", which: Boards, folder: Path) -> ExportedLessons:
    """Write the decided faces as a folder that training reads.

    Raises NotFound; BadInput where no face is decided on yet, or the folder is there and not empty.
    """
    from stockyard.photos.kept_face import KeptFace, open_face
    from stockyard.photos.lessons import Lesson, lesson_files

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput(f"{folder} is there already; name a new folder.")
    learned = _decided(open_work, which)
    if not learned:
        raise BadInput("No face has all its suggestions decided on; accept or reject them first.")
    with open_work(reading=True) as work:
        files = work.picture_files
    made = []
    for face, mapped in learned:
        photo = face.photo
        pixels = open_face(files.read(f"{photo.face_digest}.jpg"))
        scale = photo.scale
        laid = KeptFace(pixels, scale.mm_per_px, photo.length_mm, photo.width_mm, scale.covered)
        flaws = tuple((each.defect.kind, each.defect.outline) for each in mapped)
        made.append(Lesson(f"{photo.piece}-{photo.face.value}", laid, flaws))
    pieces = 0
    try:
        for name in ("images", "masks"):
            (folder / name).mkdir(parents=True, exist_ok=True)
        for path, content in lesson_files(made):
            (folder / path).write_bytes(content)
            pieces += path.startswith("images/")
    except OSError as trouble:
        raise BadInput(f"{folder} cannot be written ({trouble.strerror or trouble}).") from trouble
    return ExportedLessons(folder, len(made), pieces)


def _decided(open_work: "OpenWork", which: Boards) -> list[tuple[ReadFace, list[MappedDefect]]]:
    """The faces decided on, each with what is mapped on it."""
    with open_work(reading=True) as work:
        pieces = pieces_named(work, which)
        mapped = work.defects.of_pieces(pieces)
        learned = []
        for face in faces_of(work, pieces.values()):
            piece = pieces[face.photo.piece]
            same_size = (piece.length_mm, piece.width_mm) == (face.photo.length_mm, face.photo.width_mm)
            if face.detection is None or not face.offers or not same_size:
                continue
            if any(offer.open for offer in face.offers):
                continue
            own = [
                each
                for each in mapped.get(piece.number, ())
                if each.defect.face in (face.photo.face, Face.BOTH)
            ]
            learned.append((face, own))
        return learned


def _off_by(told: list[tuple[float, bool]]) -> float | None:
    if not told:
        return None
    apart = 0.0
    for step in range(_STEPS):
        some = [
            one for one in told if step <= one[0] * _STEPS < step + 1 or (step == _STEPS - 1 and one[0] == 1)
        ]
        apart += abs(sum(sure for sure, _ in some) - sum(right for _, right in some))
    return apart / len(told)
