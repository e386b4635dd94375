"""The air of the shop and of clients' rooms: logs only grow, and one that was wrong is taken back whole."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, insert, select
from sqlalchemy.exc import IntegrityError

from stockyard.errors import BadInput, Fault, NotFound, Refused
from stockyard.moisture.climate import AirReading
from stockyard.records.repositories.counts import add_once
from stockyard.records.repositories.repository import Repository, chunks, near
from stockyard.records.tables import ClimateLogRow, ClimatePlaceRow, ClimateReadingRow, ClimateVoidRow
from stockyard.timber.climate_log import ClimateLog, ClimatePlace


@dataclass(frozen=True, slots=True)
class Added:
    """What a log added. repeated: readings known already, to the last digit, and not added again."""

    log: int
    new: int
    repeated: int


class ClimateRepository(Repository):
    """Air readings by place. Names of places are the same in any capitals."""

    def places(self) -> tuple[ClimatePlace, ...]:
        """Every place that is logged, by name."""
        rows = self._connection.execute(
            select(ClimatePlaceRow.name, ClimatePlaceRow.zone).order_by(ClimatePlaceRow.name)
        )
        return tuple(ClimatePlace(*row) for row in rows)

    def find(self, name: str) -> ClimatePlace | None:
        """The place of that name, or None."""
        return next((place for place in self.places() if _same(place.name, name)), None)

    def get(self, name: str) -> ClimatePlace:
        """The place of that name. Raises NotFound, with near names."""
        found = self.find(name)
        if found is None:
            raise NotFound("logged place", name, near(name, (place.name for place in self.places())))
        return found

    def keep_place(self, name: str, zone: str) -> ClimatePlace:
        """The place of that name, taken into the yard when it is new; one that is there keeps its zone."""
        if self.find(name) is None:
            add_once(self._connection, ClimatePlaceRow, "name", {"name": name, "zone": zone})
        return self.get(name)

    def add(
        self, place: str, readings: Iterable[AirReading], *, source: str, zone: str, note: str = ""
    ) -> Added:
        """Append a log of readings, leaving out those that are known already.

        Raises NotFound, and BadInput when a moment was read before and differently.
        """
        kept = self.get(place)
        # Held until the end, so that two who import the same file cannot both find its moments new.
        (place_id,) = self._connection.execute(
            select(ClimatePlaceRow.id).where(ClimatePlaceRow.name == kept.name).with_for_update()
        ).one()
        given = sorted(readings)
        since = given[0].at if given else None
        known = {reading.at: reading for reading in self.readings(kept.name, since)}
        new = [reading for reading in given if reading.at not in known]
        faults = [
            Fault(
                f"reading at {reading.at.astimezone().isoformat(timespec='minutes')}",
                f"{_told(known[reading.at])} as logged before",
                _told(reading),
            )
            for reading in given
            if reading.at in known and known[reading.at] != reading
        ]
        if faults:
            raise BadInput(
                f"Of {kept.name} other readings stand for the same moments; take back the log that is wrong.",
                faults,
            )
        row = {"place_id": place_id, "source": source, "zone": zone, "note": note, **self._signature}
        log: int = self._connection.execute(
            insert(ClimateLogRow).values(row).returning(ClimateLogRow.id)
        ).scalar_one()
        for some in chunks(new):
            self._connection.execute(
                insert(ClimateReadingRow),
                [
                    {
                        "log_id": log,
                        "read_at": reading.at,
                        "temperature_c": reading.temperature_c,
                        "humidity": reading.humidity,
                    }
                    for reading in some
                ],
            )
        return Added(log, len(new), len(given) - len(new))

    def readings(self, place: str, since: datetime | None = None) -> tuple[AirReading, ...]:
        """The readings of a place that stand, in order of time. since: no older ones. Raises NotFound."""
        asked = (
            select(ClimateReadingRow.read_at, ClimateReadingRow.temperature_c, ClimateReadingRow.humidity)
            .join(ClimateLogRow, ClimateLogRow.id == ClimateReadingRow.log_id)
            .join(ClimatePlaceRow, ClimatePlaceRow.id == ClimateLogRow.place_id)
            .outerjoin(ClimateVoidRow, ClimateVoidRow.log_id == ClimateLogRow.id)
            .where(ClimatePlaceRow.name == self.get(place).name, ClimateVoidRow.log_id.is_(None))
            .order_by(ClimateReadingRow.read_at)
        )
        if since is not None:
            asked = asked.where(ClimateReadingRow.read_at >= since)
        return tuple(AirReading(*row) for row in self._connection.execute(asked))

    def logs(self, place: str) -> tuple[ClimateLog, ...]:
        """Every log of a place, taken back or not, the oldest first. Raises NotFound."""
        name = self.get(place).name
        rows = self._connection.execute(
            select(
                ClimateLogRow.id,
                ClimatePlaceRow.name,
                ClimateLogRow.source,
                ClimateLogRow.zone,
                ClimateLogRow.note,
                func.count(ClimateReadingRow.id),
                func.min(ClimateReadingRow.read_at),
                func.max(ClimateReadingRow.read_at),
                ClimateVoidRow.cause,
                ClimateLogRow.at,
                ClimateLogRow.who,
            )
            .join(ClimatePlaceRow, ClimatePlaceRow.id == ClimateLogRow.place_id)
            .outerjoin(ClimateReadingRow, ClimateReadingRow.log_id == ClimateLogRow.id)
            .outerjoin(ClimateVoidRow, ClimateVoidRow.log_id == ClimateLogRow.id)
            .where(ClimatePlaceRow.name == name)
            .group_by(ClimateLogRow.id, ClimatePlaceRow.name, ClimateVoidRow.cause)
            .order_by(ClimateLogRow.id)
        )
        return tuple(ClimateLog(*row) for row in rows)

    def void(self, log: int, *, cause: str) -> str:
        """Take a log back, and return its place. Raises NotFound, and Refused when it was taken back."""
        place = self._connection.execute(
            select(ClimatePlaceRow.name)
            .join(ClimateLogRow, ClimateLogRow.place_id == ClimatePlaceRow.id)
            .where(ClimateLogRow.id == log)
        ).scalar()
        if place is None:
            raise NotFound("climate log", str(log))
        try:
            self._connection.execute(
                insert(ClimateVoidRow), {"log_id": log, "cause": cause, **self._signature}
            )
        except IntegrityError:
            raise Refused(f"Log {log} of {place} was taken back already.") from None
        return str(place)


def _same(one: str, other: str) -> bool:
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def _told(reading: AirReading) -> str:
    return f"{reading.temperature_c:g} °C and {100 * reading.humidity:g} %"
