"""Failures of the library become exceptions: one class for each cause, with file and line where they are known."""

from __future__ import annotations

import re
from typing import Optional


class Failure(Exception):
    """A call failed. `status` is the exit status that the program gives for this cause; `file` and `line` say where, or are None."""

    status = 1

    def __init__(self, message: str) -> None:
        super().__init__(message)
        place = re.match(r"(?P<file>[^:\n]+?)(:(?P<line>\d+))?: ", message)
        self.file: Optional[str] = place.group("file") if place else None
        self.line: Optional[int] = int(place.group("line")) if place and place.group("line") else None


class BadUsage(Failure, ValueError):
    status = 2


class BadCase(Failure, ValueError):
    status = 3


class BadNetwork(Failure, ValueError):
    status = 4


class NotRead(Failure, OSError):
    status = 5


class NotWritten(Failure, OSError):
    status = 6


class NoMemory(Failure, MemoryError):
    status = 7


class GaveUp(Failure):
    status = 8


class Conflict(Failure):
    status = 9


class Interrupted(Failure):
    status = 130


_BY_STATUS = {kind.status: kind for kind in (BadUsage, BadCase, BadNetwork, NotRead, NotWritten, NoMemory, GaveUp, Conflict, Interrupted)}


def failure_of(code: int, message: str) -> Failure:
    """Return the exception of a status code of the library."""
    from ._library import library

    kind = _BY_STATUS.get(library.sp_status_exit(code), Failure)
    return kind(message or library.sp_status_text(code).decode())
