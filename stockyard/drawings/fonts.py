"""The typefaces embedded in a PDF: the DejaVu family, which Matplotlib carries and anyone may pass on.

It covers the scripts of Europe, and the signs the sheets use. A letter it lacks is printed as an empty box,
never left out.
"""

from functools import cache
from importlib.resources import as_file, files

from stockyard.errors import MissingPart

_FILES = {
    (False, False): "DejaVuSans.ttf",
    (True, False): "DejaVuSans-Bold.ttf",
    (False, True): "DejaVuSerif.ttf",
    (True, True): "DejaVuSerif-Bold.ttf",
}


@cache
def font_name(bold: bool = False, serif: bool = False) -> str:
    """The name under which reportlab knows a face, which is made known to it on first asking.

    Raises MissingPart when the face is not to be found.
    """
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    file = _FILES[bold, serif]
    name = file.removesuffix(".ttf")
    try:
        with as_file(files("matplotlib") / "mpl-data" / "fonts" / "ttf" / file) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
    except (ImportError, OSError, TTFError) as trouble:
        raise MissingPart("PDF needs the fonts in Matplotlib: pip install matplotlib.") from trouble
    return name
