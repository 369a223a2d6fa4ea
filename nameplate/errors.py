"""Exceptions, each named for who must act, with the exit code the command line ends with.

Exit codes: 0 all made; 1 some rows could not be made, the rest are; 2 ticket, roster or usage; 3 a cut file cannot
be trusted and was left out, or `inspect` found a fault; 4 a fault of the program itself, which is any exception that is
none of these. A row that cannot be made is a :class:`~nameplate.findings.Finding`, not an exception.
"""

from __future__ import annotations

from collections.abc import Iterable

EXIT_OK = 0
EXIT_SOME_REFUSED = 1
EXIT_USAGE = 2
EXIT_INSPECTION = 3
EXIT_FAULT = 4


class NameplateError(Exception):
    """Base of every error a person can act on; ``problems`` holds one sentence each, all found in one go."""

    exit_code = EXIT_USAGE

    def __init__(self, problems: str | Iterable[str]) -> None:
        self.problems: tuple[str, ...] = (problems,) if isinstance(problems, str) else tuple(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[type[NameplateError], tuple[tuple[str, ...]]]:
        return (type(self), (self.problems,))


class TicketError(NameplateError, ValueError):
    """The job ticket must be changed: a key, a value, or a file it names."""


class RosterError(NameplateError, ValueError):
    """The roster cannot be read at all (a single bad row is a finding instead)."""


class FaceError(NameplateError, ValueError):
    """The drawing or shape of the face cannot be used."""


class FontError(NameplateError, ValueError):
    """The font cannot be used."""


class OutputError(NameplateError, OSError):
    """The output folder cannot be written, or holds files that are not ours."""


class LayoutError(NameplateError, ValueError):
    """A stored layout does not belong to this job."""


class RecordError(NameplateError, ValueError):
    """The record of a job cannot be used: not ours, damaged, written by another command, or something asked of it."""


class ClusterError(NameplateError, OSError):
    """The cluster cannot be used: not there, without workers, or of other versions."""


class InspectionError(NameplateError):
    """A written file cannot be trusted, and nothing can be handed over without it."""

    exit_code = EXIT_INSPECTION


class GeometryError(NameplateError, ValueError):
    """A geometry operation was given, or produced, something that is not a usable region."""
