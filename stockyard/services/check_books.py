"""Check the books: prove that everything adds up, or say what does not."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.ledger import Disagreement

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class Proof:
    """One thing that must hold of the books, in words, and everything found against it."""

    claim: str
    against: tuple[Disagreement, ...]


@dataclass(frozen=True, slots=True)
class BooksCheck:
    """Every proof, at one moment. movements, pieces: how many there are."""

    movements: int
    pieces: int
    proofs: tuple[Proof, ...]

    @property
    def disagreements(self) -> tuple[Disagreement, ...]:
        """All that does not add up."""
        return tuple(each for proof in self.proofs for each in proof.against)


PROOFS: tuple[tuple[str, Callable[["UnitOfWork"], list[Disagreement]]], ...] = (
    ("every movement balances, and what pieces show is what their movements add up to",
     lambda work: work.stock.disagreements()),
    ("value in stock is purchases and added costs less expenses", lambda work: work.proofs.value_in_stock()),
    ("every delivery is booked at what its docket comes to", lambda work: work.proofs.purchases()),
    ("what is gone stands for nothing", lambda work: work.proofs.gone_pieces()),
    ("promised boards are promised to an allocated plan", lambda work: work.proofs.promises()),
    ("nothing stands above what it cost", lambda work: work.proofs.above_cost()),
    ("no shelf of consumables is below nothing", lambda work: work.proofs.shelves()),
    ("what was taken back adds up to nothing", lambda work: work.proofs.reversals()),
    ("value lies only in known accounts", lambda work: work.proofs.accounts()),
    ("the database is whole", lambda work: work.proofs.store()),
)  # fmt: skip


def check_books(open_work: "OpenWork") -> BooksCheck:
    """Look at the whole yard at one moment and prove each thing that must hold."""
    with open_work(reading=True) as work:
        movements, pieces = work.proofs.sizes()
        return BooksCheck(movements, pieces, tuple(Proof(claim, tuple(find(work))) for claim, find in PROOFS))
