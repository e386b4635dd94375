"""Prove that pictures and their records belong together: nothing missing, nothing altered, nothing left over.

check_photos(open_work, sweep) -> PhotoCheck
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.services.add_photo import sweep_interrupted

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


@dataclass(frozen=True, slots=True)
class PhotoCheck:
    """What was found. files: how many are recorded. missing, altered: recorded files, with what each is.

    unrecorded: files that no record names. swept: what was deleted, left behind by someone who was stopped
    while adding, or unrecorded and asked to be swept.
    """

    files: int
    missing: tuple[tuple[str, str], ...]
    altered: tuple[tuple[str, str], ...]
    unrecorded: tuple[str, ...]
    swept: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Do files and records agree?"""
        return not (self.missing or self.altered or self.unrecorded)


def check_photos(open_work: "OpenWork", *, sweep: bool = False) -> PhotoCheck:
    """Read every picture file and compare it with its name and with the records.

    What somebody stopped in the middle of adding left behind is swept first. sweep: delete other files that
    no record names too. Others may go on working meanwhile.
    """
    swept = sweep_interrupted(open_work)
    with open_work(reading=True) as work:
        names, files = work.photos.file_names(), work.picture_files
    found = files.look_through(names)
    unrecorded = found.unrecorded
    if unrecorded:
        with open_work() as work:
            # Whoever was adding meanwhile has finished now, and what they added is recorded.
            work.photos.hold()
            unrecorded = tuple(sorted(set(unrecorded) - set(work.photos.file_names())))
            if sweep and unrecorded:
                swept += files.sweep(work.photos.file_names())
                unrecorded = ()
    return PhotoCheck(
        files=len(names),
        missing=tuple((name, names[name]) for name in found.missing),
        altered=tuple((name, names[name]) for name in found.altered),
        unrecorded=unrecorded,
        swept=swept,
    )
