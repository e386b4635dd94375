"""A drawing of one or more pages, ready to be written as SVG or PDF."""

from dataclasses import dataclass

from stockyard.drawings.pdf import pdf
from stockyard.drawings.sheet import Sheet
from stockyard.drawings.svg import svg


@dataclass(frozen=True, slots=True)
class Drawing:
    """Pages of marks. name: for a file, without its ending."""

    name: str
    title: str
    pages: tuple[Sheet, ...]

    def as_pdf(self) -> bytes:
        """All pages as one PDF at true size. Raises MissingPart without reportlab."""
        return pdf(self.pages, self.title)

    def as_svg(self) -> tuple[str, ...]:
        """Each page as an SVG document."""
        return tuple(svg(page) for page in self.pages)
