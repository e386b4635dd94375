"""A unit of work: everything done in one go, written together or not at all."""

from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import TimeoutError

from stockyard.errors import Broken, Refused
from stockyard.records.faults import Contended
from stockyard.records.picture_files import PictureFiles
from stockyard.records.repositories.climate import ClimateRepository
from stockyard.records.repositories.defects import DefectRepository
from stockyard.records.repositories.deliveries import DeliveryRepository
from stockyard.records.repositories.errands import ErrandRepository
from stockyard.records.repositories.job_accounts import JobAccountRepository
from stockyard.records.repositories.jobs import JobRepository
from stockyard.records.repositories.movements import MovementRepository
from stockyard.records.repositories.people import PeopleRepository
from stockyard.records.repositories.photos import PhotoRepository
from stockyard.records.repositories.pieces import PieceRepository
from stockyard.records.repositories.plans import PlanRepository
from stockyard.records.repositories.proofs import ProofRepository
from stockyard.records.repositories.rack import RackRepository
from stockyard.records.repositories.readings import ReadingRepository
from stockyard.records.repositories.species import SpeciesRepository
from stockyard.records.repositories.steps import StepRepository
from stockyard.records.repositories.stock import StockRepository
from stockyard.records.repositories.stocktakes import StocktakeRepository
from stockyard.records.repositories.suggestions import SuggestionRepository
from stockyard.records.repositories.suppliers import SupplierRepository
from stockyard.records.repositories.supplies import SupplyRepository
from stockyard.records.repositories.workshop import WorkshopRepository


class UnitOfWork:
    """What one person does in one go. Forgets everything unless told to commit.

    who: written beside every change. now: the moment all of it happens, aware. today: that moment's date
    where the workshop is, from which movements count unless told otherwise.
    """

    def __init__(self, engine: Engine, who: str, now: datetime, pictures: Path | None = None) -> None:
        if now.tzinfo is None:
            raise Broken("A unit of work needs to know the time zone of its clock.")
        self._engine, self.who, self.now = engine, who, now
        self._connection: Connection | None = None
        self._pictures = pictures
        self.workshop = WorkshopRepository(self)
        self.species = SpeciesRepository(self)
        self.suppliers = SupplierRepository(self)
        self.deliveries = DeliveryRepository(self)
        self.pieces = PieceRepository(self)
        self.defects = DefectRepository(self)
        self.readings = ReadingRepository(self)
        self.climate = ClimateRepository(self)
        self.jobs = JobRepository(self)
        self.photos = PhotoRepository(self)
        self.suggestions = SuggestionRepository(self)
        self.plans = PlanRepository(self)
        self.steps = StepRepository(self)
        self.movements = MovementRepository(self)
        self.stock = StockRepository(self)
        self.stocktakes = StocktakeRepository(self)
        self.proofs = ProofRepository(self)
        self.supplies = SupplyRepository(self)
        self.job_accounts = JobAccountRepository(self)
        self.rack = RackRepository(self)
        self.people = PeopleRepository(self)
        self.errands = ErrandRepository(self)

    @property
    def today(self) -> date:
        """The date where the workshop is."""
        return self.now.date()

    @property
    def picture_files(self) -> PictureFiles:
        """The files of this yard's pictures. Raises Refused where nobody has said where they lie."""
        if self._pictures is None:
            raise Refused(
                "Pictures of a yard on a server lie in a folder that all who use it reach; name it in "
                "STOCKYARD_PICTURES."
            )
        return PictureFiles(self._pictures)

    @property
    def picture_folders(self) -> tuple[Path, ...]:
        """Where pictures may lie, the nearest first, there or not; none where nobody has said."""
        return () if self._pictures is None else (self._pictures, *self._pictures.parents)

    @property
    def connection(self) -> Connection:
        """The open transaction; for this room only."""
        if self._connection is None:
            raise Broken("A unit of work is used inside its `with`.")
        return self._connection

    def __enter__(self) -> Self:
        try:
            self._connection = self._engine.connect()
        except TimeoutError:
            raise Contended("Too many are at work at once; try again in a moment.") from None
        try:
            # Begins the transaction now: whoever must wait, waits before having done anything.
            self._connection.begin()
        except BaseException:
            self._connection.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        connection, self._connection = self.connection, None
        connection.close()  # rolls back what was not committed

    def commit(self) -> None:
        """Make everything done so far lasting; what is done after it needs a commit of its own."""
        transaction = self.connection.get_transaction()
        if transaction is None:
            raise Broken("There is no transaction to commit.")
        transaction.commit()
