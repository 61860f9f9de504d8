"""What is written down: checked, immutable values.

A name is imported when it is first asked for: what only needs the fields of a run sheet does not
wait for pydantic, which takes 0.1 s before the first page is painted.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trackside.records.base import Record
    from trackside.records.box_part import BoxPart
    from trackside.records.car import Car, CarCorner
    from trackside.records.counter import Counter
    from trackside.records.damper import Adjuster, Build, Damper, Parts, ShopRule
    from trackside.records.discs import read_discs
    from trackside.records.dyno import DynoRow, DynoSheet, Loop
    from trackside.records.event import Event
    from trackside.records.files import read_file, read_sheet_file, read_sheet_files
    from trackside.records.job import Job
    from trackside.records.kinds import KINDS
    from trackside.records.note import BALANCE_WORDS, Change, Kept, Note
    from trackside.records.plan import Plan
    from trackside.records.reading import Reading, in_words, same
    from trackside.records.session import CornerSheet, Session, read_value, value_body
    from trackside.records.sheet_lines import Said
    from trackside.records.sheet_reading import read_sheet
    from trackside.records.sheet_warning import SheetWarning
    from trackside.records.strip_down import StripDown
    from trackside.records.tyre_set import TyreSet
    from trackside.records.weather import Weather
    from trackside.records.weighing import ScaleCorner, Weighing

_HOMES = {
    "Record": "base",
    "BoxPart": "box_part",
    "Car": "car",
    "CarCorner": "car",
    "Counter": "counter",
    "Adjuster": "damper",
    "Build": "damper",
    "Damper": "damper",
    "Parts": "damper",
    "ShopRule": "damper",
    "read_discs": "discs",
    "DynoRow": "dyno",
    "DynoSheet": "dyno",
    "Loop": "dyno",
    "Event": "event",
    "read_file": "files",
    "read_sheet_file": "files",
    "read_sheet_files": "files",
    "Job": "job",
    "KINDS": "kinds",
    "BALANCE_WORDS": "note",
    "Change": "note",
    "Kept": "note",
    "Note": "note",
    "Plan": "plan",
    "Reading": "reading",
    "in_words": "reading",
    "same": "reading",
    "CornerSheet": "session",
    "Session": "session",
    "read_value": "session",
    "value_body": "session",
    "Said": "sheet_lines",
    "read_sheet": "sheet_reading",
    "SheetWarning": "sheet_warning",
    "ScaleCorner": "weighing",
    "StripDown": "strip_down",
    "TyreSet": "tyre_set",
    "Weather": "weather",
    "Weighing": "weighing",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


__all__ = [
    "BALANCE_WORDS",
    "KINDS",
    "Adjuster",
    "BoxPart",
    "Build",
    "Car",
    "CarCorner",
    "Change",
    "CornerSheet",
    "Counter",
    "Damper",
    "DynoRow",
    "DynoSheet",
    "Event",
    "Job",
    "Kept",
    "Loop",
    "Note",
    "Parts",
    "Plan",
    "Reading",
    "Record",
    "Said",
    "ScaleCorner",
    "Session",
    "SheetWarning",
    "ShopRule",
    "StripDown",
    "TyreSet",
    "Weather",
    "Weighing",
    "in_words",
    "read_discs",
    "read_file",
    "read_sheet",
    "read_sheet_file",
    "read_sheet_files",
    "read_value",
    "same",
    "value_body",
]
