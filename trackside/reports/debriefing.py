"""The debrief in a driver's words: what was changed, why, what to feel, what was said; the rest."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from trackside.analysis.changes import Changes, ForceChange, NotKnown, changes
from trackside.analysis.debrief import Debrief, OutLap, debrief
from trackside.analysis.estimate import drawn_speeds, estimate_at
from trackside.analysis.outings import Outings, outings_before
from trackside.analysis.shed import Shed
from trackside.analysis.sides import Uneven, uneven
from trackside.analysis.value_change import ValueChange
from trackside.damper.clicks import acts_on
from trackside.logbook import Logbook, SessionLine
from trackside.logbook.attached import folder_of, is_there
from trackside.logbook.samples import EVENTS
from trackside.preferences import Preferences
from trackside.records import BALANCE_WORDS, Change, Note, Session
from trackside.records.fields import CORNER_NAMES, PHASES, SESSION_FIELDS
from trackside.reports import formatting
from trackside.reports.beside_run import beside_section
from trackside.reports.cautions import INVENTED
from trackside.reports.change_words import paired, why_not_known
from trackside.reports.document import Document, Picture, Pictures, Said, Section
from trackside.reports.file_words import file_words
from trackside.reports.fuel_words import fuel_words
from trackside.reports.gas_words import lost_charge_words
from trackside.reports.hints import hints
from trackside.reports.lap_words import laps_said
from trackside.reports.origin_words import setting_words
from trackside.reports.when_words import when_words

MOST_CHANGES = 3
"""So many changes leave the reason on the first screen of 80×24."""
MOST_FORCES = 3
_WHY = "Why it was changed, and the verdict"
_CONDITIONS = (
    "surface",
    "air_temperature",
    "track_temperature",
    "humidity",
    "tyre_set",
    "rear_set",
    "tyre_age",
    "fuel",
)


@dataclass(frozen=True)
class Outing:
    """A session with its line on the pit board, what was said of it, and why it was changed."""

    line: SessionLine
    session: Session
    notes: tuple[Note, ...]
    reasons: tuple[Change, ...]
    absent: frozenset[str] = frozenset()
    """The files that its notes name and that are not beside the logbook, by their hash."""

    @property
    def name(self) -> str:
        """`race 1, Averholme, 2026-10-18 14:00`."""
        line = self.line
        parts = (line.title, line.venue, when_words(line))
        return ", ".join(part for part in parts if part)

    @property
    def name_with_driver(self) -> str:
        """The same, and who drove."""
        return f"{self.name} ({self.line.driver})" if self.line.driver else self.name


def outing(logbook: Logbook, entity: str, session: Session | None = None) -> Outing:
    """That session as the logbook has it; `session` when it is on the table already."""
    found = session if session is not None else logbook.record(entity)
    assert isinstance(found, Session)
    notes = tuple(note for _, note in logbook.records(Note, "note", entity))
    reasons = tuple(change for _, change in logbook.records(Change, "change", entity))
    folder = folder_of(logbook.path)
    files = (file for note in notes for file in note.files or ())
    absent = frozenset(file.sha256 for file in files if not is_there(folder, file))
    return Outing(logbook.session_line(entity), found, notes, reasons, absent)


def sections(
    logbook: Logbook, entity: str, session: Session, shed: Shed, preferences: Preferences
) -> list[Section]:
    """The whole debrief of that session, in the order in which it is read."""
    return _page(logbook, entity, outing(logbook, entity, session), shed, preferences)[0]


def page_heading(session: Session, *parts: str) -> str:
    """The line under a page's title; of a sample weekend, that no car is to be set by it."""
    sample = INVENTED if session.event in EVENTS else ""
    return " · ".join(part for part in (sample, *parts) if part)


def debrief_page(logbook: Logbook, entity: str, shed: Shed, preferences: Preferences) -> Document:
    """The debrief of that session on paper, with the curves that changed most, before and after."""
    now = outing(logbook, entity)
    told, facts = _page(logbook, entity, now, shed, preferences)
    heading = page_heading(now.session, now.line.car_name, now.session.driver)
    clear = _clear(facts.changes)[:MOST_FORCES] if facts else []
    pictures = tuple(_before_and_after(force, shed, preferences) for force in clear)
    overlaid = [Pictures("Before and after: force at the damper, shaded: 95 % band", pictures)]
    return Document(f"Debrief: {now.name}", heading, (*told, *(overlaid if pictures else ())))


def _page(
    logbook: Logbook, entity: str, now: Outing, shed: Shed, preferences: Preferences
) -> tuple[list[Section], Debrief | None]:
    """What was changed, why, what to feel, what was said; then the rest. And the facts of it; None
    where there is no outing to compare with."""
    found = outings_before(logbook, entity)
    named = {e: outing(logbook, e) for e in (found.own, found.car, found.elsewhere) if e}
    own, car, elsewhere = (named.get(e) for e in (found.own, found.car, found.elsewhere))
    before = own or car
    speeds = preferences.reference_speeds
    head = tuple(_since(now, found, named))
    rest = Section("You said about this outing", tuple(notes_said(now.notes, now.absent)))
    used = fuel_words(now.session, preferences)
    laps = Section(
        "Laps",
        (
            *laps_said(before.session if before else None, now.session),
            *([Said(used)] if used else []),
        ),
    )
    last = max((o for o in (own, elsewhere) if o), key=_began, default=None)
    said = Section(
        f"You said last time{'' if last is None or last is own else ', in another car'}",
        tuple(notes_said(last.notes, last.absent)) if last else (),
    )
    if before is None:
        why = Section(_WHY, tuple(reasons_said(now.reasons)))
        uneven_now = uneven(now.session, shed, speeds)
        sides = Section("Left and right", tuple(_sides(uneven_now, preferences)))
        since = Section("Since your last outing", head)
        unread = unread_said(logbook, [entity, *named], now.session)
        beside = beside_section(logbook, entity, now.session, preferences)
        return _filled([since, why, said, sides, rest, laps, *beside, unread]), None
    facts = debrief(before.session, now.session, shed, speeds)
    why = Section(_WHY, tuple(_why(now, facts)))
    lines = list(_changed(facts, preferences))
    first = Section(
        _title(before, own is not None, now), (*head, *_first(lines, facts, preferences))
    )
    more = tuple(Said(line) for line in lines[MOST_CHANGES:])
    since_car, nothing_since = Section("", ()), ""
    if own is not None and car is not None:
        since_car, nothing_since = _since_the_car_ran(car, now, shed, preferences)
    return _filled([
        first,
        why,
        Section("What you may feel: common practice, a hint",
                tuple(Said(text) for text in hints(facts.moved))),
        said,
        Section("Force change at the damper: clearest first",
                (*_worth(facts.changes, preferences),
                 *_sides(facts.uneven, preferences, facts.was_uneven))),
        Section("Also changed", more),
        since_car,
        Section("How the last change worked", tuple(reasons_said(before.reasons, asks=True))),
        Section("Then and now", (*_conditions(before.session, now.session, facts.changes,
                                              preferences),
                                 *([Said(nothing_since)] if nothing_since else []))),
        rest,
        laps,
        *beside_section(logbook, entity, now.session, preferences, before.session),
        unread_said(logbook, [entity, *named], now.session),
    ]), facts  # fmt: skip


def _filled(sections: Iterable[Section]) -> list[Section]:
    return [section for section in sections if section.said]


def _began(outing: Outing) -> tuple[str, str]:
    return outing.line.start or outing.line.event_date, outing.line.entity


def _title(before: Outing, is_own: bool, now: Outing) -> str:
    if not is_own:
        return f"Changed since the car last ran: {before.name_with_driver}"
    whose = "your last outing" if now.session.driver else "the car's last outing"
    return f"Changed since {whose}: {before.name}"


def _since(now: Outing, found: Outings, named: Mapping[str, Outing]) -> Iterator[Said]:
    """Where there is no outing of this driver in this car to compare with, or one in between."""
    driver = now.session.driver
    for name in found.alike:
        yield Said(
            f"Is “{driver}” the driver “{name}”? If so, correct the name on the run sheet: this "
            "page then compares with their outings.",
            "caution",
        )
    if found.elsewhere:
        other = named[found.elsewhere]
        car = other.line.car_name or "a car that is not named"
        if found.own:
            yield Said(f"In between you drove another car: {car}, {other.name}.", "small")
        else:
            yield Said(f"Your last outing was in another car: {car}, {other.name}.", "big")
    elif not found.own:
        who = f"{driver} has" if driver else "This car has"
        words = f"{who} no earlier outing in this logbook"
        yield Said(f"{words}." if found.car else f"{words}: nothing to compare with.", "big")
    if found.elsewhere and not found.compared:
        yield Said("This car has no earlier outing in this logbook: nothing to compare with.")


def _why(now: Outing, facts: Debrief) -> Iterator[Said]:
    reasons = list(reasons_said(now.reasons))
    if not reasons and facts.changes.values:
        reasons = [Said("No reason is written down.", "small")]
    yield from reasons


def _changed(facts: Debrief, preferences: Preferences) -> Iterator[str]:
    """What was set differently: what moves a force first, the clearest first."""
    leaking = {f"{lost.corner}.gas_pressure" for lost in facts.lost_gas}
    values = [value for value in facts.changes.values if value.path not in leaking]
    clearest_first = sorted(values, key=lambda value: -_share(value, facts.changes.forces))
    yield from paired(clearest_first, preferences)


def _first(lines: list[str], facts: Debrief, preferences: Preferences) -> Iterator[Said]:
    """As much of it as leaves the reason on the first screen, and what asks for care."""
    if not lines:
        yield Said("Nothing was changed on the car.", "big")
    for line in lines[:MOST_CHANGES]:
        yield Said(line, "big")
    if len(lines) > MOST_CHANGES:
        yield Said(f"and {len(lines) - MOST_CHANGES} more, further down", "small")
    for force in _clear(facts.changes)[:1]:
        yield Said(_force_line(force, preferences), "big")
    if facts.out_lap:
        yield Said(out_lap_words(facts.out_lap), "caution")
    for lost in facts.lost_gas:
        yield Said(lost_charge_words(lost, preferences), "caution")


def out_lap_words(why: OutLap) -> str:
    """`take a cautious out-lap: large step at FL and FR; another damper at RL`."""
    parts = (
        ("large step at", why.large),
        ("another damper or build at", why.swapped),
        ("a change of unknown force at", why.unknown),
    )
    said = [f"{words} {_listed(corners)}" for words, corners in parts if corners]
    return f"take a cautious out-lap: {'; '.join(said)}"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _since_the_car_ran(
    car: Outing, now: Outing, shed: Shed, preferences: Preferences
) -> tuple[Section, str]:
    """For a driver whose car another one drove meanwhile: what was changed since then, or a
    sentence where nothing was."""
    found = changes(car.session, now.session, shed, preferences.reference_speeds)
    forces = (_force_line(force, preferences) for force in _clear(found)[:1])
    lines = [*paired(found.values, preferences), *forces]
    title = f"Changed since the car last ran: {car.name_with_driver}"
    nothing = f"Since the car last ran ({car.name_with_driver}) nothing was changed on it."
    return Section(title, tuple(Said(line) for line in lines)), "" if lines else nothing


def _before_and_after(force: ForceChange, shed: Shed, preferences: Preferences) -> Picture:
    speeds = drawn_speeds(preferences.peak_speed)
    return Picture(
        f"{CORNER_NAMES[force.corner]} {force.direction}: {setting_words(force.before)}, then "
        f"{setting_words(force.after)}",
        tuple(
            formatting.curve(estimate_at(at, shed, speeds), role, preferences, band=True)
            for role, at in (("before", force.before), ("after", force.after))
        ),
        f"rod {preferences.unit('speed')}",
        preferences.unit("force"),
    )


def _clear(changes: Changes) -> list[ForceChange]:
    """The forces that changed by more than their band, the clearest first."""
    return [force for force in changes.forces if not force.in_noise]


def _share(value: ValueChange, forces: Iterable[ForceChange]) -> float:
    """How clear the clearest force is that this change moves; 0 for what has no force here."""
    name = value.name
    return max(
        (
            force.share
            for force in forces
            if force.corner == value.corner
            and (name in ("damper", "build") or acts_on(name, force.direction))
        ),
        default=0.0,
    )


def _worth(changes: Changes, preferences: Preferences) -> Iterator[Said]:
    clear = _clear(changes)
    for n, force in enumerate(clear[:MOST_FORCES]):
        if n:  # the first is said with what was changed
            yield Said(_force_line(force, preferences), "big")
        yield _with_band(force, preferences, named=not n)
    left = len(clear) - MOST_FORCES
    if left > 0:
        yield Said(f"and {left} smaller against its band, on the click map", "small")
    noise = [force for force in changes.forces if force.in_noise]
    if noise:
        names = ", ".join(f"{force.corner} {force.direction}" for force in noise)
        yield Said(f"too small to tell from the bench's own scatter: {names}", "small")
    for why, places in _by_reason(changes.unknown).items():
        yield Said(f"{', '.join(places)}: not known, {why}", "small")


def _by_reason(unknown: Iterable[NotKnown]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for one in unknown:
        found.setdefault(why_not_known(one), []).append(f"{one.corner} {one.direction}")
    return found


def _force_line(force: ForceChange, preferences: Preferences) -> str:
    """`FR rebound: +99 N (+56 %) at 25 mm/s, low speed; +36 N (+3 %) … high speed`."""
    step, first = force.step, force.clearest
    split = preferences.speed_split
    slow = bool(step.speed[first] <= split)
    parts = [_at(force, first, slow, preferences)]
    other = force.clearest_in(not slow, split)
    if other is not None:
        parts.append(_at(force, other, not slow, preferences))
    return f"{force.corner} {force.direction}: {'; '.join(parts)}"


def _with_band(force: ForceChange, preferences: Preferences, *, named: bool) -> Said:
    """The band of the force at the damper, then the change at the wheel; `named` where no line
    above it says of what."""
    step, first = force.step, force.clearest
    low, high = (formatting.signed(float(v[first]), preferences) for v in (step.low, step.high))
    unit = preferences.unit("force")
    band = f"95 % band {low} to {high} {unit}, {formatting.BASIS_WORDS[step.basis]}"
    if force.wheel is None:
        wheel = "at the wheel not known, no motion ratio on record"
    else:
        at_wheel = formatting.signed(float(force.wheel[first]), preferences, with_unit=True)
        wheel = f"{at_wheel} at the wheel"
    head = f"{force.corner} {force.direction}: " if named else ""
    return Said(f"{head}{band}; {wheel}", "small")


def _at(force: ForceChange, i: int, slow: bool, preferences: Preferences) -> str:
    """`+130 N (+21 %) at 50 mm/s, low speed`."""
    step = force.step
    rod = formatting.speed(step.speed[i], preferences, with_unit=True)
    where = f"at {rod}, {'low' if slow else 'high'} speed"
    if step.in_noise[i]:
        return f"too small to tell {where}"
    change = formatting.signed(float(step.change[i]), preferences, with_unit=True)
    return f"{change} ({formatting.percent(float(step.percent[i]))} %) {where}"


def _sides(
    found: Iterable[Uneven],
    preferences: Preferences,
    as_before: Collection[tuple[str, str]] | None = None,
) -> Iterator[Said]:
    """`front rebound differs left to right: right 130 N more at 50 mm/s (95 % band …)`. Pointed
    out where it was not so before."""
    for one in found:
        i = one.clearest
        more = "right" if one.difference[i] > 0 else "left"
        bounds = sorted((abs(float(one.low[i])), abs(float(one.high[i]))))
        low, high = (formatting.force(bound, preferences) for bound in bounds)
        size = formatting.force(abs(float(one.difference[i])), preferences, with_unit=True)
        rod = formatting.speed(one.speed[i], preferences, with_unit=True)
        is_new = as_before is not None and (one.axle, one.direction) not in as_before
        yield Said(
            f"{one.axle} {one.direction} differs left to right: {more} {size} more at {rod} "
            f"(95 % band {low} to {high}){', since this change' if is_new else ''}",
            "caution" if is_new else "plain",
        )


def unread_said(logbook: Logbook, sessions: Collection[str], session: Session) -> Section:
    """What a page about these sessions rests on and could not be read, or not wholly."""
    found = logbook.unread.about(sessions, session.car, session.dampers)
    return Section("Could not be read", tuple(Said(one.sentence, "caution") for one in found))


def notes_said(notes: Iterable[Note], absent: Container[str] = ()) -> Iterator[Said]:
    """The driver's notes, in the order of a lap, with the files that they name; those whose hash is
    among the `absent` ones are missing here."""
    order = ("", *PHASES)
    for note in sorted(notes, key=lambda note: order.index(note.phase)):
        where = ", ".join(part for part in (note.phase, _turn(note.turn)) if part)
        scales = [BALANCE_WORDS[note.balance]] if note.balance is not None else []
        scales += [f"{note.rating} of 10"] if note.rating is not None else []
        words = f"“{note.words}”" if note.words else ""
        for file in note.files or ():
            scales.append(file_words(file, "missing" if file.sha256 in absent else "there"))
        head = f"{where}: " if where and (words or scales) else where
        yield Said(head + " · ".join(part for part in (words, *scales) if part))


def _turn(turn: str | None) -> str:
    return f"turn {turn}" if turn and turn.strip().isdigit() else turn or ""


def reasons_said(reasons: Iterable[Change], asks: bool = False) -> Iterator[Said]:
    """Why something was changed, each with its verdict; with `asks`, that it has none yet."""
    for change in reasons:
        because = (
            f"{change.what}: {change.reason}"
            if change.what and change.reason
            else (change.what or change.reason)
        )
        if because:
            yield Said(because)
        verdict = " · ".join(part for part in (change.verdict, change.verdict_words) if part)
        if verdict:
            yield Said(f"→ {verdict}", "big")
        elif asks and change.unjudged:
            yield Said("→ no verdict yet", "caution")


def _conditions(
    before: Session, now: Session, found: Changes, preferences: Preferences
) -> Iterator[Said]:
    """What differs, then in one line each what does not, and what was only read again."""
    differs, alike = [], []
    for name in _CONDITIONS:
        field = SESSION_FIELDS[name]
        values = [session.value(name) or None for session in (before, now)]
        if values == [None, None]:
            continue
        then, here = (formatting.value(value, field.quantity, preferences) for value in values)
        if then == here:
            alike.append(f"{field.label.lower()} {here}")
        else:
            was = "unknown" if values[0] is None else then
            now_here = "not entered yet" if values[1] is None else here
            differs.append(f"{field.label}: {was} → {now_here}")
    if differs:
        yield Said(" · ".join(differs))
    if alike:
        yield Said(f"Unchanged: {', '.join(alike)}", "small")
    if found.readings:
        yield Said("; ".join(paired(found.readings, preferences)), "small")
