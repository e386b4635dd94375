"""Movements of stock and value, and what their sums say: what is on hand, what it is worth, on any date.

Everything here works on plain movements and values: it knows no database, and no clock.
"""

from stockyard.ledger.agreement import Disagreement, disagreements
from stockyard.ledger.balance import balanced, imbalance
from stockyard.ledger.counting import CountFindings, Remeasured, count_findings
from stockyard.ledger.fold import Sums, account_sums, fold
from stockyard.ledger.holding import Holding
from stockyard.ledger.reversal import reversal
from stockyard.ledger.sharing import CutPiece, OffcutPolicy, share_value

__all__ = [
    "CountFindings",
    "CutPiece",
    "Disagreement",
    "Holding",
    "OffcutPolicy",
    "Remeasured",
    "Sums",
    "account_sums",
    "balanced",
    "count_findings",
    "disagreements",
    "fold",
    "imbalance",
    "reversal",
    "share_value",
]
