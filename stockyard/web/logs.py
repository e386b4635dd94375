"""What is logged while the app is served: one JSON object a line, on the error stream, without secrets.

No header, cookie, query or body is ever logged, a request only by its declared route; passwords in the
addresses of databases are blotted out wherever they come from.
"""

import json
import logging
import re
from datetime import UTC, datetime

REQUESTS = logging.getLogger("stockyard.requests")

_PASSWORD = re.compile(r"(://[^\s:/@]*:)[^\s@]+@")


class JsonLines(logging.Formatter):
    """A record as a line of JSON: time (UTC), level, logger, message, its own facts, and a fault's trace."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        told: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": without_passwords(record.getMessage()),
        }
        facts = getattr(record, "facts", None)
        if isinstance(facts, dict):
            told |= facts
        if record.exc_info:
            told["fault"] = without_passwords(self.formatException(record.exc_info))
        return json.dumps(told, ensure_ascii=False, default=str)


def without_passwords(text: str) -> str:
    """Text with the password blotted out of every database's address in it."""
    return _PASSWORD.sub(r"\1***@", text)


def log_json_lines(requests: bool) -> None:
    """From now on log as lines of JSON: what went wrong, and every request too where that is wanted."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    REQUESTS.setLevel(logging.INFO if requests else logging.WARNING)


def log_request(method: str, route: str, status: int, seconds: float, address: str) -> None:
    """Log one request that was answered; those of a watcher only when they go wrong."""
    if status < 400 and route in ("/healthz", "/metrics"):
        return
    facts = {"method": method, "route": route, "status": status, "ms": round(seconds * 1000, 1)}
    REQUESTS.info("%s %s", method, route, extra={"facts": {**facts, "from": address}})
