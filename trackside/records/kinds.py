"""Which record each kind of the logbook is: what its bodies make."""

from __future__ import annotations

from trackside.records.base import Record
from trackside.records.box_part import BoxPart
from trackside.records.car import Car
from trackside.records.counter import Counter
from trackside.records.damper import Build, Damper
from trackside.records.dyno import DynoSheet
from trackside.records.event import Event
from trackside.records.job import Job
from trackside.records.note import Change, Kept, Note
from trackside.records.plan import Plan
from trackside.records.session import Session
from trackside.records.strip_down import StripDown
from trackside.records.tyre_set import TyreSet
from trackside.records.weather import Weather
from trackside.records.weighing import Weighing

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
    "weighing": Weighing,
    "tyre_set": TyreSet,
    "job": Job,
    "weather": Weather,
    "counter": Counter,
    "strip_down": StripDown,
    "box_part": BoxPart,
    "plan": Plan,
}
