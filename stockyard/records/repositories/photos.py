"""Photographs of faces: the pictures they were made of, how they were put to scale, and which stand."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Row, Select, func, insert, select, text

from stockyard.errors import NotFound, Refused
from stockyard.records.repositories.counts import next_numbers
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import (
    PhotoPictureRow,
    PhotoRow,
    PhotoVoidRow,
    PictureRow,
    PieceRow,
)
from stockyard.timber.defect import Face, Outline
from stockyard.timber.photo import KeptPicture, Photo, PhotoColour, PhotoScale, PhotoSeam
from stockyard.timber.piece import PieceKind

_LOCK = 7_302_812  # any number, the same for all who add pictures to a PostgreSQL yard

_PICTURE = (
    PictureRow.digest,
    PictureRow.given_digest,
    PictureRow.extension,
    PictureRow.thumb_digest,
    PictureRow.size_bytes,
    PictureRow.width_px,
    PictureRow.height_px,
    PictureRow.name,
    PictureRow.taken,
    PictureRow.located,
)
_PHOTO = (
    PhotoRow.id,
    PhotoRow.number,
    PieceRow.number,
    PhotoRow.face,
    PhotoRow.length_mm,
    PhotoRow.width_mm,
    PhotoRow.way,
    PhotoRow.scale,
    PhotoRow.colour,
    PhotoRow.face_digest,
    PhotoRow.thumb_digest,
    PhotoVoidRow.cause,
    PhotoRow.at,
    PhotoRow.who,
)


class PhotoRepository(Repository):
    """Photos by number. Only ever added to; one that was a mistake is taken back, and stays on record."""

    def hold(self) -> None:
        """Be the only one who adds or sweeps picture files until this unit of work ends."""
        # Whoever writes to SQLite is the only one who does.
        if self._connection.dialect.name == "postgresql":
            self._connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})

    def find_picture(self, digest: str) -> KeptPicture | None:
        """The picture of that content, kept or handed in; None when there is none."""
        for column in (PictureRow.digest, PictureRow.given_digest):
            row = self._connection.execute(
                select(*_PICTURE).where(column == digest).order_by(PictureRow.id)
            ).first()
            if row is not None:
                return _picture(row)
        return None

    def add(self, photo: Photo) -> Photo:
        """Add a photo of a face, and its pictures where they are new. Returns it with its number.

        Its files must be in place. Raises NotFound for no such piece.
        """
        ids = [self._picture_id(picture) for picture in photo.pictures]
        number = next_numbers(self._connection, "photo")
        scale = asdict(photo.scale)
        row = {
            "number": number,
            "piece_id": self._work.pieces.row_ids([photo.piece])[photo.piece],
            "face": photo.face,
            "length_mm": photo.length_mm,
            "width_mm": photo.width_mm,
            "way": scale.pop("way"),
            "scale": scale,
            "colour": None if photo.colour is None else asdict(photo.colour),
            "face_digest": photo.face_digest,
            "thumb_digest": photo.thumb_digest,
            **self._signature,
        }
        photo_id = self._connection.execute(insert(PhotoRow).returning(PhotoRow.id), [row]).scalar_one()
        self._connection.execute(
            insert(PhotoPictureRow),
            [{"photo_id": photo_id, "place": place, "picture_id": id_} for place, id_ in enumerate(ids, 1)],
        )
        return self.get(number)

    def get(self, number: int) -> Photo:
        """The photo of that number, taken back or not. Raises NotFound."""
        found = self._photos(_asked().where(PhotoRow.number == number))
        if not found:
            raise NotFound("photo", str(number))
        return found[0]

    def of_piece(self, piece: str, *, voided: bool = False) -> tuple[Photo, ...]:
        """Every photo of a piece, the oldest first; with `voided`, those taken back too. Raises NotFound."""
        id_ = self._work.pieces.row_ids([piece])[piece]
        asked = _asked().where(PhotoRow.piece_id == id_)
        return self._photos(asked if voided else asked.where(PhotoVoidRow.photo_id.is_(None)))

    def standing(self, pieces: Iterable[str] | None = None) -> dict[tuple[str, Face], Photo]:
        """The newest photo of each photographed face that was not taken back; of these pieces, or of all."""
        asked = _asked().where(PhotoVoidRow.photo_id.is_(None))
        if pieces is None:
            photos = self._photos(asked)
        else:
            photos = tuple(
                photo
                for some in chunks(sorted(set(pieces)))
                for photo in self._photos(asked.where(PieceRow.number.in_(some)))
            )
        return {(photo.piece, photo.face): photo for photo in photos}

    def numbers(self, pieces: Iterable[str], face: Face) -> dict[str, int]:
        """The number of the photo that stands for a face of these pieces, by piece; without what it holds."""
        found: dict[str, int] = {}
        for some in chunks(sorted(set(pieces))):
            rows = self._connection.execute(
                select(PieceRow.number, func.max(PhotoRow.number))
                .join(PhotoRow, PhotoRow.piece_id == PieceRow.id)
                .outerjoin(PhotoVoidRow, PhotoVoidRow.photo_id == PhotoRow.id)
                .where(PieceRow.number.in_(some), PhotoRow.face == face, PhotoVoidRow.photo_id.is_(None))
                .group_by(PieceRow.number)
            )
            found.update(dict(rows.all()))
        return found

    def count_bare(self) -> int:
        """How many boards on hand have a face that no photo shows."""
        faces = (
            select(PhotoRow.piece_id)
            .outerjoin(PhotoVoidRow, PhotoVoidRow.photo_id == PhotoRow.id)
            .where(PhotoVoidRow.photo_id.is_(None))
            .group_by(PhotoRow.piece_id)
            .having(func.count(PhotoRow.face.distinct()) > 1)
        )
        boards = select(func.count()).where(
            PieceRow.on_hand == 1, PieceRow.kind == PieceKind.BOARD, PieceRow.id.not_in(faces)
        )
        return self._connection.execute(boards).scalar_one()

    def showing(self, digest: str) -> tuple[Photo, ...]:
        """The photos made of a picture and not taken back. digest: of the kept picture."""
        made = (
            select(PhotoPictureRow.photo_id)
            .join(PictureRow, PictureRow.id == PhotoPictureRow.picture_id)
            .where(PictureRow.digest == digest)
        )
        return self._photos(_asked().where(PhotoRow.id.in_(made), PhotoVoidRow.photo_id.is_(None)))

    def take_back(self, number: int, cause: str) -> None:
        """Have a photo stand no more. Raises NotFound, Refused when it does not any more."""
        photo = self.get(number)
        if photo.void is not None:
            raise Refused(f"Photo {number} was taken back already.")
        self._connection.execute(
            insert(PhotoVoidRow),
            [{"photo_id": self.row_id(number), "cause": cause, **self._signature}],
        )

    def file_names(self) -> dict[str, str]:
        """Every file that the records name, and what each is: a picture, its small view, a face."""
        names: dict[str, str] = {}
        for digest, extension, thumb in self._connection.execute(
            select(PictureRow.digest, PictureRow.extension, PictureRow.thumb_digest)
        ):
            names[f"{digest}.{extension}"] = "picture"
            names[f"{thumb}.jpg"] = "small view"
        for face, thumb in self._connection.execute(select(PhotoRow.face_digest, PhotoRow.thumb_digest)):
            names[f"{face}.jpg"] = "face"
            names[f"{thumb}.jpg"] = "small view"
        return names

    # What follows serves the other repositories.

    def row_id(self, number: int) -> int:
        """A photo's row id. Raises NotFound."""
        found = self._connection.execute(select(PhotoRow.id).where(PhotoRow.number == number)).scalar()
        if found is None:
            raise NotFound("photo", str(number))
        return int(found)

    def _picture_id(self, picture: KeptPicture) -> int:
        asked = select(PictureRow.id).where(PictureRow.digest == picture.digest)
        found = self._connection.execute(asked).scalar()
        if found is not None:
            return int(found)
        row = asdict(picture) | {"taken": None if picture.taken is None else picture.taken.isoformat()}
        return int(
            self._connection.execute(
                insert(PictureRow).returning(PictureRow.id), [row | self._signature]
            ).scalar_one()
        )

    def _photos(self, asked: Select[*tuple[Any, ...]]) -> tuple[Photo, ...]:
        rows = self._connection.execute(asked.order_by(PhotoRow.id)).all()
        pictures: dict[int, list[KeptPicture]] = {row[0]: [] for row in rows}
        for some in chunks(pictures):
            for photo_id, *picture in self._connection.execute(
                select(PhotoPictureRow.photo_id, *_PICTURE)
                .join(PictureRow, PictureRow.id == PhotoPictureRow.picture_id)
                .where(PhotoPictureRow.photo_id.in_(some))
                .order_by(PhotoPictureRow.photo_id, PhotoPictureRow.place)
            ):
                pictures[photo_id].append(_picture(picture))
        return tuple(_photo(row, tuple(pictures[row[0]])) for row in rows)


def _asked() -> Select[*tuple[Any, ...]]:
    return (
        select(*_PHOTO)
        .join(PieceRow, PieceRow.id == PhotoRow.piece_id)
        .outerjoin(PhotoVoidRow, PhotoVoidRow.photo_id == PhotoRow.id)
    )


def _picture(row: Any) -> KeptPicture:
    found = dict(zip((column.key for column in _PICTURE), row, strict=True))
    taken = found.pop("taken")
    return KeptPicture(**found, taken=None if taken is None else datetime.fromisoformat(taken))


def _photo(row: Row[*tuple[Any, ...]], pictures: tuple[KeptPicture, ...]) -> Photo:
    _, number, piece, face, length, width, way, scale, colour, face_digest, thumb, void, at, who = tuple(row)
    return Photo(
        number, piece, face, pictures, length, width, _scale(way, scale), face_digest, thumb,
        _colour(colour), void, at, who,
    )  # fmt: skip


def _scale(way: str, kept: Mapping[str, Any]) -> PhotoScale:
    pairs = {name: tuple(kept[name]) for name in ("seen_mm_per_px", "disagrees_pct", "cards", "remarks")}
    return PhotoScale(
        way=way,
        mm_per_px=kept["mm_per_px"],
        finest_mm=kept["finest_mm"],
        error_px=kept["error_px"],
        white=None if kept["white"] is None else tuple(kept["white"]),
        covered=tuple(_outline(each) for each in kept["covered"]),
        corners_px=tuple(_outline(each) for each in kept["corners_px"]),
        seams=tuple(PhotoSeam(**each) for each in kept["seams"]),
        asked=kept["asked"],
        **pairs,
    )


def _colour(kept: Mapping[str, Any] | None) -> PhotoColour | None:
    if kept is None:
        return None
    whole = PhotoColour(**kept)
    light, red, yellow = whole.lab
    return replace(whole, lab=(light, red, yellow))


def _outline(points: list[list[float]]) -> Outline:
    return tuple((x, y) for x, y in points)
