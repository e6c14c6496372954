"""JSON Lines ▶ what became of each line."""

from dataclasses import dataclass
from typing import Any

from tacticapi.api.entries import receipt_body
from tacticapi.api.problems import TOO_LARGE, fault_body, refuse
from tacticapi.api.strict_json import StrictJsonError, strict_json
from tacticapi.club.entries import Line
from tacticapi.knowledge import Fault

MOST_FAULTS = 10  # a line; one with more is no observation


@dataclass(frozen=True, slots=True)
class Read:
    """A line that was not blank: its number from 1, its JSON, and the faults for which it is none."""

    number: int
    body: Any
    faults: tuple[Fault, ...]


def read_lines(body: bytes, most: int) -> list[Read]:
    """The lines of a body that are not blank. Ends the request where there are too many."""
    lines = [(number, line) for number, line in enumerate(body.split(b"\n"), 1) if line.strip()]
    if len(lines) > most:
        refuse(TOO_LARGE, f"at most {most:,} lines")
    return [_read(number, line) for number, line in lines]


def lines_body(read: list[Read], kept: list[Line]) -> dict[str, Any]:
    """The answer to a bulk."""
    items = [_line_body(line, became) for line, became in zip(read, kept, strict=True)]
    added = sum("id" in item for item in items)
    return {"items": items, "added": added, "refused": len(items) - added}


def _read(number: int, line: bytes) -> Read:
    try:
        return Read(number, strict_json(line), ())
    except StrictJsonError as error:
        return Read(number, None, error.faults)


def _line_body(line: Read, became: Line) -> dict[str, Any]:
    if became.receipt:
        return {"line": line.number, **receipt_body(became.receipt)}
    faults = line.faults or became.faults
    return {"line": line.number, "errors": [fault_body(fault) for fault in faults[:MOST_FAULTS]]}
