"""What a column of a spreadsheet of dampers or cars is, by its heading: the words of our own forms,
or a name that a person gave once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from trackside.crew.forms import Entry, entries
from trackside.errors import BadInput, BadNumber
from trackside.records.fields import ADJUSTER_WORDS, CORNER_NAMES, CORNERS
from trackside.records.lap_columns import key_of
from trackside.units import QUANTITIES, one_line

IGNORE: Final = "ignore"
NAMED_BY: Final = {"damper": "damper.serial", "car": "car.name"}
"""The column that every spreadsheet of the form has to have."""
_IN_BRACKETS: Final = re.compile(r"[\[(]([^\])]*)[\])]")
_AXLES: Final = {"front": ("FL", "FR"), "rear": ("RL", "RR")}
_OTHER_WORDS: Final = {
    "box_part.sort": ("what", "part", "kind", "type"),
    "box_part.diameter": ("od", "outer diameter", "size", "d"),
    "box_part.thickness": ("thick", "t", "gauge"),
    "box_part.hole": ("id", "inner diameter", "bore", "hole"),
    "box_part.count": ("qty", "quantity", "number", "pieces", "pcs", "stock"),
    "box_part.place": ("drawer", "tray", "bin"),
    "box_part.words": ("remarks",),
    "damper.serial": ("serial number", "serial no", "damper"),
    "damper.least_charge": ("least charge at 20", "minimum charge"),
    "damper.service_runs": ("service after runs",),
    "damper.service_laps": ("service after laps",),
    "damper.service_time": ("service hours", "service after hours"),
    "damper.words": ("notes", "remarks"),
    "build.version": ("version",),
    "build.rod_diameter": ("rod",),
    "build.gas_pressure": ("charge", "gas charge"),
    "build.oil_viscosity_40": ("viscosity at 40", "viscosity 40"),
    "build.oil_viscosity_100": ("viscosity at 100", "viscosity 100"),
    "build.family": ("sisters", "family"),
    "car.name": ("car",),
    "car.number": ("no", "start number", "car number"),
    "car.words": ("notes", "remarks"),
    "car.track_front": ("front track",),
    "car.track_rear": ("rear track",),
}
"""Beside an entry's label and the name of its field. Our own choice."""
_OF_A_KNOB: Final = {
    "clicks": ("clicks", "number of clicks"),
    "counted_from": ("counted", "counted from", "from"),
    "step": ("step",),
    "share_per_click": ("a click", "share per click"),
}
_OF_A_CORNER: Final = {"mass": ("weight", "corner weight"), "motion_ratio": ("ratio",)}


@dataclass(frozen=True)
class Column:
    """A column: its heading, the entries that it fills (none: nobody wants it), and the unit of its
    bare numbers, empty for the crew's."""

    heading: str
    entries: tuple[Entry, ...] = ()
    unit: str = ""


def named_columns(texts: Sequence[str], form: str) -> dict[str, str]:
    """What `Nr=serial` and so on say, several of them parted by semicolons: the heading,
    casefolded, to our name. BadInput for a name that is none of ours."""
    found = {}
    for pair in (part for text in texts for part in text.split(";") if part.strip()):
        theirs, _, ours = pair.rpartition("=")
        if not key_of(theirs) or not _meant(ours, form):
            some = ", ".join(list(dict.fromkeys(_words(ours_of(form))))[:8])
            raise BadInput(
                f"“{one_line(pair)}” does not say what a column is",
                f"write it like Nr={NAMED_BY[form].partition('.')[2]}; a column is {some} … "
                "or ignore, as the form calls it",
            )
        found[key_of(theirs)] = plain(ours)
    return found


def columns_of(
    names: Sequence[str], form: str, said: Mapping[str, str], known: Sequence[Mapping[str, str]]
) -> list[Column]:
    """What each column is: as a person said, else as all of them were named before, else in our own
    words. BadInput where two columns fill the same, or a unit is none of its quantity."""
    keys = [key_of(name) for name in names]
    fitting = max((one for one in known if one.keys() <= set(keys)), key=len, default={})
    meant = {**fitting, **said}
    found = [
        _column(name, meant.get(key, name), form) for name, key in zip(names, keys, strict=True)
    ]
    filled: dict[str, str] = {}
    for column in found:
        for entry in column.entries:
            if entry.key in filled:
                raise BadInput(
                    f"“{filled[entry.key]}” and “{column.heading}” are both the same column",
                    f"say that one is none, as in --columns “{column.heading}=ignore”",
                )
            filled[entry.key] = column.heading
    return found


def _column(heading: str, meant: str, form: str) -> Column:
    wanted = () if plain(meant) == IGNORE else _entries(meant, form)
    unit = (_IN_BRACKETS.findall(heading) or [""])[-1].strip()
    if unit and wanted and not wanted[0].quantity:  # Piston (mm) is its diameter
        wanted = _entries(f"{plain(meant)} diameter", form) or wanted
    if unit and wanted and wanted[0].quantity:
        quantity = wanted[0].quantity
        try:
            unit = QUANTITIES[quantity].unit(unit).symbol
        except BadNumber as error:
            raise BadInput(f"the column “{heading}”: {error.cause}", error.remedy) from None
        return Column(heading, wanted, unit)
    return Column(heading, wanted)


def _meant(ours: str, form: str) -> bool:
    return plain(ours) == IGNORE or bool(_entries(ours, form))


def _entries(name: str, form: str) -> tuple[Entry, ...]:
    """The entries that a name means: one, or those of both sides of an axle."""
    known, said = ours_of(form), plain(name)
    if said in known:
        return (known[said],)
    for axle, corners in _AXLES.items():
        rest = said.removeprefix(f"{axle} ") if said.startswith(axle) else said
        rest = rest.removesuffix(f" {axle}")
        both = [known.get(f"{corner.casefold()} {rest}") for corner in corners]
        if form == "car" and rest != said and all(both):
            return tuple(entry for entry in both if entry)
    return ()


def plain(name: str) -> str:
    """A heading as plain words: no unit in brackets, no signs."""
    bare = _IN_BRACKETS.sub(" ", key_of(name).replace("⌀", " diameter "))
    return " ".join(re.findall(r"[^\W_]+", bare))


def ours_of(form: str) -> dict[str, Entry]:
    """Every plain name of an entry of that form; the first that claims a name has it."""
    found: dict[str, Entry] = {}
    every = list(entries(form).values())
    for wanted in (_own_words, _other_words):
        for entry in every:
            for words in wanted(entry):
                found.setdefault(plain(words), entry)
    return found


def called(entry: Entry) -> str:
    """The entry with what it belongs to: `rebound counted`, `FL scales`, `rod ⌀`."""
    head, _, name = entry.path.partition(".")
    of = name.partition(".")[0]
    before = {
        "adjusters": ADJUSTER_WORDS.get(of, ""), "shop_rules": f"{of} shop rule",
        "bump_parts": "bump parts", "rebound_parts": "rebound parts",
    }.get(head, head if head in CORNERS else "")  # fmt: skip
    return f"{before} {entry.label.lower()}".strip()


def _words(known: Mapping[str, Entry]) -> Iterator[str]:
    seen = set()
    for name, entry in known.items():
        if entry.key not in seen:
            seen.add(entry.key)
            yield name


def _own_words(entry: Entry) -> Iterator[str]:
    """The path of the field, and its label; of a knob, a rule, a part or a corner with what it
    belongs to."""
    head, _, name = entry.path.partition(".")
    if head == "adjusters":
        acts, _, field = name.partition(".")
        for words in _OF_A_KNOB[field]:
            yield f"{ADJUSTER_WORDS[acts]} {words}"
            yield f"{ADJUSTER_WORDS[acts]} adjuster {words}"
            yield f"{acts} {words}"
    elif head == "shop_rules":
        direction, _, field = name.partition(".")
        for words in (field, entry.label):
            yield f"shop rule {direction} {words}"
            yield f"{direction} shop rule {words}"
        if field != "share_per_click":  # a knob has one too
            yield f"{direction} {field}"
            yield f"{direction} {entry.label}"
    elif head in CORNERS:
        for words in (entry.label, name, *_OF_A_CORNER.get(name, ())):
            yield f"{head} {words}"
            yield f"{words} {head}"
            yield f"{CORNER_NAMES[head]} {words}"
    elif head.endswith("_parts"):
        for words in (name, entry.label):
            yield f"{head.replace('_', ' ')} {words}"
            yield f"{head.removesuffix('_parts')} {words}"
    else:
        yield entry.path
        yield entry.label


def _other_words(entry: Entry) -> Iterator[str]:
    yield from _OTHER_WORDS.get(entry.key, ())
