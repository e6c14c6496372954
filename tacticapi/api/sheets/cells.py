"""CSV (RFC 4180) ▶ rows of what was filled in, each with its line; cells as a spreadsheet writes them."""

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.api.problems import INVALID_BODY, TOO_LARGE, refuse
from tacticapi.knowledge import Fault
from tacticapi.service.sheets import FORMULA

MOST_LINES = 2_000
Read = Callable[[str], Any]
_SAYS = {"yes": True, "true": True, "no": False, "false": False}
_NUMBER = re.compile(r"-?\d{1,9}(?:[.,]\d{1,9})?", re.ASCII)
_CHANCES = re.compile(r"(.+?)\s+(\d{1,6})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Row:
    """A filled row: the line on which it ends, from 1, and its cells by column."""

    line: int
    cells: Mapping[str, Any]


def filled_rows(text: bytes, columns: Mapping[str, Read], told: tuple[str, ...], needed: str) -> list[Row]:
    """The rows that hold anything. Ends the request where it is no such sheet.

    `columns` say how a cell is read. Columns that are only `told`, by the service or to a reader, are left out. A
    header may name columns in any order and leave out what is not used, but for the `needed` one.
    """
    reader = csv.reader(io.StringIO(_decoded(text), newline=""), delimiter=_delimiter(text))
    try:
        header = [name.strip() for name in next(reader, [])]
        _check(header, columns, told, needed)
        rows = [Row(reader.line_num, _cells(header, cells, columns)) for cells in reader]
    except csv.Error as error:
        refuse(INVALID_BODY, faults=[Fault((), None, f"CSV: {error}")])
    rows = [row for row in rows if row.cells]
    if len(rows) > MOST_LINES:
        refuse(TOO_LARGE, f"at most {MOST_LINES:,} filled rows")
    return rows


def a_text(cell: str) -> str:
    """A text; the mark that keeps a spreadsheet from running it is taken off."""
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(FORMULA) else cell


def a_number(cell: str) -> Any:
    """A number, 7 also where a spreadsheet wrote 7.0 or 7,0; else the cell, so that its fault can be told."""
    if not _NUMBER.fullmatch(cell):
        return cell
    number = float(cell.replace(",", "."))
    return int(number) if number.is_integer() else number


def a_yes(cell: str) -> Any:
    """True or false for yes or no; else the cell."""
    return _SAYS.get(cell.lower(), cell)


def some_counts(cell: str) -> Any:
    """Chances by option, as in "wide 4; body 1"; else the cell."""
    found = [_CHANCES.fullmatch(part.strip()) for part in cell.split(";")]
    return {each[1]: int(each[2]) for each in found if each} if all(found) else cell


def _decoded(text: bytes) -> str:
    try:
        decoded = text.decode("utf-8-sig")
    except UnicodeDecodeError:
        refuse(INVALID_BODY, faults=[Fault((), None, "CSV in UTF-8")])
    if "\x00" in decoded:  # no database takes it
        refuse(INVALID_BODY, faults=[Fault((), None, "CSV without NUL")])
    return decoded


def _delimiter(text: bytes) -> str:
    """Comma, or the semicolon that spreadsheets write where the comma stands in numbers."""
    head = text.partition(b"\n")[0]
    return ";" if head.count(b";") > head.count(b",") else ","


def _check(header: list[str], columns: Mapping[str, Read], told: tuple[str, ...], needed: str) -> None:
    expected = f"no other column than {', '.join((*columns, *told))}"
    faults = [Fault((name,), None, expected) for name in header if name and name not in (*columns, *told)]
    if needed not in header:
        faults.append(Fault((), None, f"a header with the column {needed}"))
    faults += [Fault((name,), None, "one column of this name") for name in {*header} - {""} if header.count(name) > 1]
    if faults:
        refuse(INVALID_BODY, faults=faults)


def _cells(header: list[str], cells: list[str], columns: Mapping[str, Read]) -> dict[str, Any]:
    return dict(_read(header, cells, columns))


def _read(header: list[str], cells: list[str], columns: Mapping[str, Read]) -> Iterator[tuple[str, Any]]:
    for name, cell in zip(header, cells, strict=False):
        if name in columns and (filled := cell.strip()):
            yield name, columns[name](filled)
