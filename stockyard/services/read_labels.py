"""Read the numbers of labels off a picture of them.

read_labels(content, name) -> tuple[str, ...]
"""

from stockyard.errors import BadInput

_LONGEST_NUMBER = 80


def read_labels(content: bytes, name: str) -> tuple[str, ...]:
    """What the codes on a photograph hold, each once; a count takes them as they are.

    Raises BadInput for what is no picture, and where no code can be read on it.
    """
    from stockyard.photos.codes import read_codes
    from stockyard.photos.decode import decode

    held = (text.strip() for text in read_codes(decode(content, name).pixels))
    codes = tuple(text for text in held if text and text.isprintable() and len(text) <= 4 * _LONGEST_NUMBER)
    if not codes:
        raise BadInput(f"No label can be read on {name}; go nearer, in better light, or type the number.")
    return codes
