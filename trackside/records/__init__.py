"""What is written down: checked, immutable values.

`KINDS` maps the logbook's kinds to the records that their bodies make.
"""

from trackside.records.base import Record
from trackside.records.car import Car, CarCorner
from trackside.records.damper import Adjuster, Build, Damper, Parts, ShopRule
from trackside.records.discs import read_discs
from trackside.records.dyno import DynoRow, DynoSheet, Loop
from trackside.records.event import Event
from trackside.records.files import read_file, read_sheet_file, read_sheet_files
from trackside.records.note import BALANCE_WORDS, Change, Kept, Note
from trackside.records.reading import Reading, in_words, problem_of, same
from trackside.records.session import CornerSheet, Session, read_value, value_body
from trackside.records.sheet_lines import Said
from trackside.records.sheet_reading import read_sheet
from trackside.records.sheet_warning import SheetWarning

KINDS: dict[str, type[Record]] = {
    "car": Car,
    "damper": Damper,
    "build": Build,
    "sheet": DynoSheet,
    "event": Event,
    "session": Session,
    "note": Note,
    "change": Change,
    "kept": Kept,
}

__all__ = [
    "BALANCE_WORDS",
    "KINDS",
    "Adjuster",
    "Build",
    "Car",
    "CarCorner",
    "Change",
    "CornerSheet",
    "Damper",
    "DynoRow",
    "DynoSheet",
    "Event",
    "Kept",
    "Loop",
    "Note",
    "Parts",
    "Reading",
    "Record",
    "Said",
    "Session",
    "SheetWarning",
    "ShopRule",
    "in_words",
    "problem_of",
    "read_discs",
    "read_file",
    "read_sheet",
    "read_sheet_file",
    "read_sheet_files",
    "read_value",
    "same",
    "value_body",
]
