"""The bytes of a picture file: the only module of this room that touches a disk."""

from pathlib import Path

from stockyard.errors import BadInput

MAX_BYTES = 80_000_000  # a 64 megapixel JPEG of the best quality is about half of this


def read_bytes(path: Path, max_bytes: int = MAX_BYTES) -> bytes:
    """The bytes of a file of at most `max_bytes`.

    Raises BadInput where there is no such file, it cannot be read, is empty or is larger.
    """
    try:
        if path.is_dir():
            raise BadInput(f"{path} is a folder; name the picture file inside it.")
        size = path.stat().st_size
        if size > max_bytes:
            raise BadInput(
                f"{path.name} has {size / 1e6:.0f} MB and {max_bytes / 1e6:.0f} MB is the most that is read; "
                "save it as a JPEG and try again."
            )
        content = path.read_bytes()
    except OSError as trouble:
        raise BadInput(f"{path} cannot be read ({trouble.strerror}); check its name.") from trouble
    if not content:
        raise BadInput(f"{path.name} is empty; copy the picture from the phone again.")
    return content
