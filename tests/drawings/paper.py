"""Reading a drawing back from its SVG text: what stands where, in millimetres of paper."""

import re
from dataclasses import dataclass
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Patch:
    """An upright box on the paper. [mm, y down]"""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def size(self) -> tuple[float, float]:
        return self.x1 - self.x0, self.y1 - self.y0

    def overlaps(self, other: "Patch") -> bool:
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1


def read(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)


def page(root: ElementTree.Element) -> tuple[float, float]:
    """Width and height in mm; the user unit must be a millimetre."""
    width, height = root.attrib["width"], root.attrib["height"]
    assert width.endswith("mm")
    assert height.endswith("mm")
    assert root.attrib["viewBox"] == f"0 0 {width[:-2]} {height[:-2]}"
    return float(width[:-2]), float(height[:-2])


def groups(root: ElementTree.Element, role: str, name: str | None = None) -> list[ElementTree.Element]:
    found = [g for g in root.iter(f"{SVG}g") if g.attrib["class"] == role]
    return [g for g in found if name is None or g.attrib["data-name"] == name]


def group(root: ElementTree.Element, role: str, name: str) -> ElementTree.Element:
    (found,) = groups(root, role, name)
    return found


def corners(polygon: ElementTree.Element) -> list[tuple[float, float]]:
    pairs = [pair.split(",") for pair in polygon.attrib["points"].split()]
    return [(float(x), float(y)) for x, y in pairs]


def patch(element: ElementTree.Element) -> Patch:
    """The box around every polygon in an element."""
    polygons = [element] if element.tag == f"{SVG}polygon" else list(element.iter(f"{SVG}polygon"))
    points = [point for polygon in polygons for point in corners(polygon)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Patch(min(xs), min(ys), max(xs), max(ys))


def texts(root: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def text_patches(root: ElementTree.Element) -> list[tuple[str, Patch]]:
    """Each line of writing and about where it stands: half an em a letter, capitals 0.7 em high."""
    placed = []
    for element in root.iter(f"{SVG}text"):
        words = element.text or ""
        size = float(element.attrib["font-size"])
        wide = 0.5 * size * len(words)
        x, y = float(element.attrib["x"]), float(element.attrib["y"])
        start = {"start": x, "middle": x - wide / 2, "end": x - wide}[
            element.attrib.get("text-anchor", "start")
        ]
        placed.append((words, Patch(start, y - 0.7 * size, start + wide, y)))
    return placed


def assert_well_set(root: ElementTree.Element) -> None:
    """No writing leaves the page or runs into other writing, and everything drawn is on the page."""
    width, height = page(root)
    placed = text_patches(root)
    for words, box in placed:
        assert box.x0 >= 0, words
        assert box.x1 <= width, words
        assert box.y0 >= 0, words
        assert box.y1 <= height, words
    for number, (words, box) in enumerate(placed):
        for other_words, other in placed[:number]:
            assert not box.overlaps(other), f"{words!r} runs into {other_words!r}"
    for tag in ("polygon", "polyline"):
        for element in root.iter(f"{SVG}{tag}"):
            if "points" in element.attrib and element not in _tiles(root):
                for x, y in corners(element):
                    assert -0.01 <= x <= width + 0.01
                    assert -0.01 <= y <= height + 0.01


def assert_self_contained(text: str) -> None:
    """One accessible document that runs nothing and fetches nothing."""
    root = read(text)
    assert root.attrib["role"] == "img"
    named = root.attrib["aria-labelledby"].split()
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    assert len(ids) == len(set(ids))
    assert [child.attrib["id"] for child in root[:2]] == named
    assert all((child.text or "").strip() for child in root[:2])
    allowed = {
        "svg",
        "title",
        "desc",
        "defs",
        "pattern",
        "g",
        "rect",
        "polygon",
        "polyline",
        "circle",
        "text",
    }
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in allowed
        for attribute, value in element.attrib.items():
            assert "href" not in attribute
            assert not attribute.startswith("on")
            for target in re.findall(r"url\((.*?)\)", value):
                assert target.removeprefix("#") in ids
    assert text.count("http") == 1  # the name space itself


def scale_of(root: ElementTree.Element) -> float:
    """The denominator written at the foot."""
    (words,) = [text for text in texts(root) if text.endswith("on A4")]
    return float(re.search(r"1 : ([\d.]+)", words).group(1))


def _tiles(root: ElementTree.Element) -> set[ElementTree.Element]:
    return {element for pattern in root.iter(f"{SVG}pattern") for element in pattern.iter()}
