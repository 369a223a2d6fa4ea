"""When and who: the one place where a record asks for the time and for the user's name."""

from __future__ import annotations

import getpass
from datetime import UTC, date, datetime

#: Who did it where the system does not tell.
NOBODY = "unknown"


def now() -> str:
    """Give the time in UTC, to the second (ISO 8601), like 2026-03-01T09:30:00Z."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def today() -> date:
    """Give the date where the program runs, as a person there has it."""
    return datetime.now().astimezone().date()


def user(by: str | None = None) -> str:
    """Give who does something: `by` where that was said, else the user's login name."""
    if by and by.strip():
        return " ".join(by.split())
    try:
        return getpass.getuser() or NOBODY
    except (OSError, KeyError, ImportError):
        return NOBODY
