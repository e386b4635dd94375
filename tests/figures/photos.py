"""How well and how fast photographs are put to scale and read, on rendered boards that no tuning has seen.

python -m tests.figures.photos speed            # 12 megapixels taken in, put to scale and read
python -m tests.figures.photos places [BOARDS]  # corners of 2.4 m boards, with cards and by the outline alone
python -m tests.figures.photos strips [BOARDS]  # 4.8 m boards in four pictures
python -m tests.figures.photos cracks [BOARDS]  # cracks of 0.4 mm by 30 mm at 3 px a mm, and clear boards

Boards are drawn from the seeds FIRST_SEED and up, which were used for nothing else.
"""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from time import perf_counter

import cv2
import numpy as np
import numpy.typing as npt
from shapely import Polygon

from stockyard.errors import BadInput
from stockyard.photos.decode import decode
from stockyard.photos.detect import Detection, DetectionSettings, Reader, detect, suggest
from stockyard.photos.ground import board_mask
from stockyard.photos.scale import true_scale
from stockyard.photos.strip import join_strip
from tests.figures.record import record
from tests.photos.render import flaws
from tests.photos.render.board import DrawnBoard, draw_board, to_rgb
from tests.photos.render.photograph import Photograph, Shot, photograph
from tests.photos.render.species import LOOKS
from tests.photos.render.texture import a_log, clear_wood, grain

FIRST_SEED = 40_001
SPECIES = tuple(LOOKS)
PALE = ("radiata pine", "white oak", "tasmanian oak")
DARK = ("black walnut", "jarrah", "rosewood")
CORNER_CARDS = (0, 1, 2, 3)
STATION_CARDS = (0, 1, 10, 11, 12, 13, 14, 15, 16, 2, 3)
READERS: tuple[Reader, ...] = ("classical", "learned")
SPEED = tuple(
    (length, width, cards, reader)
    for reader in READERS
    for length, width, cards in ((2400, 180, CORNER_CARDS), (2400, 180, ()), (1200, 200, CORNER_CARDS))
)
ROUNDS = 5


def speed() -> None:
    """Each size in a process of its own, so that its peak memory is its own."""
    for length, width, cards, reader in SPEED:
        board = draw_board(FIRST_SEED, "spotted gum", length, width, mm_per_px=0.3)
        photo = photograph(board, "A", Shot((4000, 3000), turn=4, noise=0.012, quality=95, cards=cards))
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "face.jpg"
            file.write_bytes(photo.content)
            asked = [sys.executable, "-m", "tests.figures.photos", "one", str(file), str(length), str(width)]
            asked.append(reader)
            told = subprocess.run(asked, check=True, capture_output=True, text=True).stdout.split()
        baseline, *parts, peak_mib = (float(one) for one in told)
        group = f"{length} x {width} mm, {'cards' if cards else 'outline'}, {reader}"
        note = f"JPEG of {len(photo.content) / 1e6:.1f} MB, decoded by OpenCV in {baseline * 1000:.0f} ms"
        whole = sum(parts[:3])
        record("photo read", group, whole / baseline, "x", baseline="cv2.imdecode", note=f"aim 12; {note}")
        for name, part in zip(("decode", "scale", "detect", "mask"), parts, strict=True):
            record(f"photo {name}", group, part / baseline, "x", baseline="cv2.imdecode")
        record("photo memory", group, peak_mib, "MiB", note="aim 700; peak of the whole process")


def one(file: Path, length_mm: float, width_mm: float, reader: Reader) -> None:
    """Print OpenCV's own decoding, then ours, scale, detect, the board's mask alone [s], and peak [MiB]."""
    content = file.read_bytes()
    best = np.full(5, np.inf)
    for _ in range(ROUNDS):
        marks = [perf_counter()]
        picture = decode(content)
        marks.append(perf_counter())
        face = true_scale(picture.pixels, length_mm, width_mm)
        marks.append(perf_counter())
        suggest(face, DetectionSettings(reader=reader))
        marks.append(perf_counter())
        board_mask(picture.pixels)
        marks.append(perf_counter())
        cv2.imdecode(np.frombuffer(content, np.uint8), cv2.IMREAD_COLOR)
        marks.append(perf_counter())
        spent = np.diff(marks)
        best = np.minimum(best, [spent[4], *spent[:4]])
    # The kernel's own high-water mark: getrusage would tell the parent's where that was higher.
    peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in line)
    print(*best, int(peak.split()[1]) / 1024)


def a_shot(rng: np.random.Generator, species: str, cards: tuple[int, ...]) -> Shot:
    """As a person holding a phone over a bench takes it, the bench of another colour than the wood."""
    bench = str(rng.choice(["mat", "concrete", "slate", "ply"]))
    if bench == "ply" and species in PALE:
        bench = "mat"
    if bench in ("mat", "slate") and species in DARK:
        bench = "concrete"
    return Shot(
        size=(4000, 3000), cards=cards, bench=bench, turn=float(rng.uniform(-20, 20)),
        tilt_along=float(rng.uniform(-7, 7)), tilt_across=float(rng.uniform(-12, 12)),
        # Without cards the lens cannot be known; a phone corrects its own to about this.
        lens=(float(rng.uniform(-0.02, 0.02) if cards else rng.uniform(-0.004, 0.004)), 0.0),
        shadow=float(rng.choice([0, 0.3])),
    )  # fmt: skip


def places(boards: int) -> None:
    """Corners, and what is drawn on the faces, against where the map puts them."""
    corners: dict[str, list[float]] = {"cards": [], "outline": []}
    drawn: dict[str, list[float]] = {"cards": [], "outline": []}
    middles: list[float] = []
    refused = {"cards": 0, "outline": 0}
    for seed in range(FIRST_SEED, FIRST_SEED + boards):
        rng = np.random.default_rng(seed)
        species, width = SPECIES[seed % len(SPECIES)], float(rng.choice([120, 140, 180, 230]))
        board = draw_board(
            seed, species, 2400, width, mm_per_px=0.5, wanted=("crack", "sound_knot", "unsound_knot", "bark")
        )
        for way, cards in (("cards", CORNER_CARDS), ("outline", ())):
            photo = photograph(board, "A", a_shot(rng, species, cards), seed=seed)
            try:
                face = true_scale(photo.pixels, 2400, width)
            except BadInput as trouble:
                refused[way] += 1
                print(f"refused: seed {seed}, {species}, {way}, {photo.shot.bench}: {trouble}")
                continue
            wanted = np.array([(0, 0), (2400, 0), (2400, width), (0, width)], float)
            off = np.linalg.norm(face.plane.to_board(photo.corners_px) - wanted, axis=1)
            corners[way] += [float(v) for v in off]
            if off.max() > 3:
                print(f"off by {off.max():.1f} mm: seed {seed}, {species}, {way}, {photo.shot}")
            for truth in board.truths["A"]:
                known = np.array(truth.outline_mm)
                drawn[way].append(
                    float(np.linalg.norm(face.plane.to_board(photo.to_px(known)) - known, axis=1).max())
                )
            if cards:
                found = suggest(face, DetectionSettings(reader="classical"))
                middles += _middles_mm(board, [Polygon(one.outline) for one in found])
    seeds = f"{FIRST_SEED}-{FIRST_SEED + boards - 1}"
    for way, aim in (("cards", 2), ("outline", 4)):
        at_95 = float(np.percentile(corners[way], 95))
        record("photo corners, 95 %", way, at_95, "mm", seeds=seeds, note=f"aim {aim}; boards of 2.4 m")
        record("photo defects placed, 95 %", way, float(np.percentile(drawn[way], 95)), "mm", seeds=seeds,
               note="aim 3; the farthest point of each drawn outline")  # fmt: skip
        record("photo good pictures refused", way, refused[way], f"of {boards}", seeds=seeds)
    at_95 = float(np.percentile(middles, 95))
    note = f"aim 3; {len(middles)} found"
    record("photo suggested middles, 95 %", "knots and bark, classical", at_95, "mm", seeds=seeds, note=note)


def _middles_mm(board: DrawnBoard, found: list[Polygon]) -> Iterator[float]:
    """How far the middle of what was suggested at a knot or bark lies from its own."""
    for truth in board.truths["A"]:
        shape = Polygon(truth.outline_mm)
        near = [one for one in found if one.intersection(shape).area > 0.3 * shape.union(one).area]
        if near and truth.kind != "crack":
            yield min(float(one.centroid.distance(shape.centroid)) for one in near)


def strips(boards: int) -> None:
    """Boards of 4.8 m, four pictures each, with station cards and without any."""
    for way, cards in (("cards", STATION_CARDS), ("wood", ())):
        off: list[float] = []
        seams: list[float] = []
        refused = 0
        for seed in range(FIRST_SEED, FIRST_SEED + boards):
            rng = np.random.default_rng(seed)
            board = draw_board(seed, SPECIES[seed % len(SPECIES)], 4800, 180, mm_per_px=0.5)
            photos = [_part(board, rng, at, cards, seed) for at in (0.13, 0.37, 0.63, 0.87)]
            try:
                strip = join_strip([photo.pixels for photo in photos], 4800, 180)
            except BadInput as trouble:
                refused += 1
                print(f"refused: seed {seed}, {board.species}, {way}: {trouble}")
                continue
            seams += [seam.error_mm for seam in strip.seams]
            for photo, plane in zip(photos, strip.planes, strict=True):
                known = np.array([(x, y) for x in np.linspace(0, 4800, 49) for y in (20, 160)])
                seen = photo.to_px(known)
                shown = ((seen > 0) & (seen < (2399, 1799))).all(axis=1)
                off += list(np.linalg.norm(plane.to_board(seen[shown]) - known[shown], axis=1))
        seeds = f"{FIRST_SEED}-{FIRST_SEED + boards - 1}"
        record(
            "photo strip places, 95 %", way, float(np.percentile(off, 95)), "mm", seeds=seeds, note="4.8 m"
        )
        record("photo strip seams, 95 %", way, float(np.percentile(seams, 95)), "mm", seeds=seeds)
        record("photo good strips refused", way, refused, f"of {boards}", seeds=seeds)


def _part(
    board: DrawnBoard, rng: np.random.Generator, at: float, cards: tuple[int, ...], seed: int
) -> Photograph:
    bench = "concrete" if board.species in DARK else "mat"
    shot = Shot((2400, 1800), 3.2, float(rng.uniform(-3, 3)), float(rng.uniform(-5, 5)),
                float(rng.uniform(-3, 3)), (0.005, 0.0), bench=bench, cards=cards, look_at=at)  # fmt: skip
    return photograph(board, "A", shot, seed=seed)


def cracks(boards: int) -> None:
    """Fine cracks at 3 px a mm, three to a face, and faces with nothing on them but the marks of work."""
    for species, reader in product(SPECIES, READERS):
        met = named = drawn = alarms = 0
        for seed in range(FIRST_SEED, FIRST_SEED + boards):
            board = _finely_cracked(seed, species)
            found = _seen_at_3_px(board, seed, reader)
            for truth in board.truths["A"]:
                shape = Polygon(truth.outline_mm).buffer(2.0)
                here = [
                    one.kind
                    for one in found.suggestions
                    if Polygon(_board_mm(one.outline_px, board)).intersects(shape)
                ]
                drawn, met = drawn + 1, met + bool(here)
                named += any(kind.value in ("crack", "check", "split") for kind in here)
            clear = draw_board(seed, species, 400, 120, wanted=())
            alarms += len(_seen_at_3_px(clear, seed, reader).suggestions)
        seeds = f"{FIRST_SEED}-{FIRST_SEED + boards - 1}"
        note = f"of {drawn} cracks of 0.4 x 30 mm at 3 px a mm; named a crack: {named}"
        record(
            "photo fine cracks found", f"{species}, {reader}", met / drawn, "share", seeds=seeds, note=note
        )
        record("photo alarms on clear faces", f"{species}, {reader}", alarms / boards, "a face", seeds=seeds,
               note="400 x 120 mm; aim 0.3")  # fmt: skip


def _finely_cracked(seed: int, species: str) -> DrawnBoard:
    rng = np.random.default_rng(seed)
    shape, scale = (960, 3200), 1 / 8
    log = a_log(rng, 400, 120)
    run = grain(log, shape, scale, [])
    canvas = flaws.Canvas(clear_wood(rng, LOOKS[species], log, run, scale, 0), run, scale)
    for start, y in ((40, 30), (180, 85), (320, 45)):
        begin = start + float(rng.uniform(-20, 20))
        flaws.crack(canvas, rng, begin, begin + 30, y + float(rng.uniform(-12, 12)), 0.4)
    return DrawnBoard(species, 400, 120, 30, scale, {"A": to_rgb(canvas.lab)}, {"A": canvas.truths})


def _seen_at_3_px(board: DrawnBoard, seed: int, reader: Reader) -> Detection:
    size = (round(board.length_mm * 3), round(board.width_mm * 3))
    light = (board.faces["A"].astype(np.float32) / 255) ** 2.2  # which is what a lens spreads
    small = cv2.GaussianBlur(cv2.resize(light, size, interpolation=cv2.INTER_AREA), (0, 0), 0.6)
    noisy = 255 * small ** (1 / 2.2) + np.random.default_rng(seed).normal(0, 1.5, small.shape)
    seen = np.clip(noisy, 0, 255).astype(np.uint8)
    return detect(seen, (1 / 3, 1 / 3), "horizontal", DetectionSettings(reader=reader))


def _board_mm(outline_px: npt.NDArray[np.float64], board: DrawnBoard) -> npt.NDArray[np.float64]:
    mm = (outline_px + 0.5) / 3
    return np.column_stack([mm[:, 0], board.width_mm - mm[:, 1]])


def main(asked: list[str]) -> None:
    """Measure what was asked for."""
    what, *more = asked or ["speed"]
    if what == "one":
        file, length, width, reader = more
        one(Path(file), float(length), float(width), "learned" if reader == "learned" else "classical")
    elif what == "speed":
        speed()
    else:
        measure, usual = {"places": (places, 24), "strips": (strips, 6), "cracks": (cracks, 8)}[what]
        measure(int(more[0]) if more else usual)


if __name__ == "__main__":
    main(sys.argv[1:])
