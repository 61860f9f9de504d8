"""The debrief in a driver's words: what changed since the last outing, most force first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from trackside.damper.clicks import acts_on
from trackside.logbook import Logbook, SessionLine
from trackside.preferences import Preferences
from trackside.records import BALANCE_WORDS, Change, Note, Session
from trackside.records.fields import CORNER_NAMES, PHASES, SESSION_FIELDS
from trackside.review.changes import Changes, ForceChange, ValueChange, changes, paired
from trackside.review.debrief import Debrief, debrief
from trackside.review.estimate import drawn_speeds, estimate_at
from trackside.review.recall import outing_before
from trackside.review.shed import Shed
from trackside.telling import figures
from trackside.telling.document import Document, Picture, Pictures, Said, Section

MOST_FORCES = 3
_CONDITIONS = (
    "surface",
    "air_temperature",
    "track_temperature",
    "humidity",
    "tyre_set",
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

    @property
    def name(self) -> str:
        """`race 1, Averholme, 2026-10-18 14:00`."""
        line = self.line
        parts = (f"{line.kind} {line.number}".strip(), line.venue, line.start[:16])
        return ", ".join(part for part in parts if part)


def outing(logbook: Logbook, entity: str, session: Session | None = None) -> Outing:
    """That session as the logbook has it; `session` when it is on the table already."""
    found = session if session is not None else logbook.record(entity)
    assert isinstance(found, Session)
    notes = (Note.checked(body) for _, body in logbook.notes(entity))
    reasons = (Change.checked(body) for _, body in logbook.changes(entity))
    return Outing(logbook.session_line(entity), found, tuple(notes), tuple(reasons))


def sections(
    logbook: Logbook, entity: str, session: Session, shed: Shed, preferences: Preferences
) -> list[Section]:
    """The whole debrief of that session, in the order in which it is read."""
    now = outing(logbook, entity, session)
    earlier = outing_before(logbook, entity)
    found = []
    if earlier is None:
        who = f"{now.session.driver} has" if now.session.driver else "This car has"
        words = f"{who} no earlier outing in this logbook: nothing to compare with."
        found.append(Section("Since your last outing", (Said(words, "big"),)))
    else:
        before = outing(logbook, earlier)
        told = debrief(before.session, now.session, before.notes, now.reasons, shed, preferences)
        whose = "your last outing" if now.session.driver else "the car's last outing"
        found += [
            Section(f"Changed since {whose}: {before.name}", tuple(_changed(told))),
            Section("Worth, at the damper: most first", tuple(_worth(told.changes, preferences))),
            Section(
                "Feel for it: common practice, a hint", tuple(Said(text) for text in told.feel)
            ),
            Section("You said last time", tuple(notes_said(told.said))),
            Section("What came of the last change", tuple(reasons_said(before.reasons))),
            Section("Then and now", tuple(_conditions(before.session, now.session, preferences))),
        ]
    found += [
        Section("Why it was changed, and the verdict", tuple(reasons_said(now.reasons))),
        Section("You said about this outing", tuple(notes_said(now.notes))),
    ]
    return [section for section in found if section.said]


def debrief_page(logbook: Logbook, entity: str, shed: Shed, preferences: Preferences) -> Document:
    """The debrief of that session on paper, with the curves that changed most, before and after."""
    now = outing(logbook, entity)
    told = sections(logbook, entity, now.session, shed, preferences)
    heading = " · ".join(part for part in (now.line.car_name, now.session.driver) if part)
    earlier = outing_before(logbook, entity)
    pictures: tuple[Picture, ...] = ()
    if earlier is not None:
        found = changes(outing(logbook, earlier).session, now.session, shed, preferences)
        clear = [force for force in found.forces if not force.in_noise][:MOST_FORCES]
        pictures = tuple(_before_and_after(force, shed, preferences) for force in clear)
    overlaid = [Pictures("Before and after: force at the damper, shaded: 95 % band", pictures)]
    return Document(f"Debrief: {now.name}", heading, (*told, *(overlaid if pictures else ())))


def _before_and_after(force: ForceChange, shed: Shed, preferences: Preferences) -> Picture:
    speeds = drawn_speeds(preferences.peak_speed)
    return Picture(
        f"{CORNER_NAMES[force.corner]} {force.direction}: {force.before.words}, then "
        f"{force.after.words}",
        tuple(
            figures.curve(estimate_at(at, shed, speeds), role, preferences, band=True)
            for role, at in (("before", force.before), ("after", force.after))
        ),
        f"rod {preferences.unit('speed')}",
        preferences.unit("force"),
    )


def _changed(told: Debrief) -> Iterator[Said]:
    values = sorted(told.changes.values, key=lambda value: -_weight(value, told.changes.forces))
    for sentence in paired(values):
        yield Said(sentence, "big")
    if not values:
        yield Said("Nothing was changed on the car.", "big")
    for sentence in told.lost_gas:
        yield Said(sentence, "caution")
    if told.caution:
        yield Said(told.caution, "caution")


def _weight(value: ValueChange, forces: Iterable[ForceChange]) -> float:
    """The largest force (N) that this change moves; 0 for what has no force here."""
    name = value.path.partition(".")[2]
    return max(
        (
            force.size
            for force in forces
            if force.corner == value.corner
            and (name in ("damper", "build") or acts_on(name, force.direction))
        ),
        default=0.0,
    )


def _worth(changes: Changes, preferences: Preferences) -> Iterator[Said]:
    clear = [force for force in changes.forces if not force.in_noise]
    for force in clear[:MOST_FORCES]:
        yield from _force(force, preferences)
    left = len(clear) - MOST_FORCES
    noise = len(changes.forces) - len(clear)
    if left > 0:
        yield Said(f"and {left} smaller, on the click map", "small")
    if noise:
        yield Said(f"{noise} too small to stand out of the bench's noise", "small")
    for sentence in changes.unknown:
        yield Said(sentence, "small")


def _force(force: ForceChange, preferences: Preferences) -> Iterator[Said]:
    step, i = force.step, force.largest
    rod = figures.speed(step.speed[i], preferences, with_unit=True)
    change = figures.signed(float(step.change[i]), preferences, with_unit=True)
    share = figures.percent(float(step.percent[i]))
    yield Said(
        f"{CORNER_NAMES[force.corner]} {force.direction}: {change} ({share} %) at {rod}", "big"
    )
    low, high = (figures.signed(float(v[i]), preferences) for v in (step.low, step.high))
    unit = preferences.unit("force")
    band = f"95 % band {low} to {high} {unit}, {figures.STANDS[step.standing]}"
    if force.wheel is None:
        wheel = "at the wheel: unknown, no motion ratio on record"
    else:
        at_wheel = figures.signed(float(force.wheel[i]), preferences, with_unit=True)
        wheel = f"{at_wheel} at the wheel"
    yield Said(f"{wheel}; {band}", "small")


def notes_said(notes: Iterable[Note]) -> Iterator[Said]:
    """The driver's notes, in the order of a lap."""
    order = ("", *PHASES)
    for note in sorted(notes, key=lambda note: order.index(note.phase)):
        where = ", ".join(part for part in (note.phase, _turn(note.turn)) if part)
        scales = [BALANCE_WORDS[note.balance]] if note.balance is not None else []
        scales += [f"{note.rating} of 10"] if note.rating is not None else []
        words = f"“{note.words}”" if note.words else ""
        head = f"{where}: " if where and (words or scales) else where
        yield Said(head + " · ".join(part for part in (words, *scales) if part))


def _turn(turn: str | None) -> str:
    return f"turn {turn}" if turn and turn.strip().isdigit() else turn or ""


def reasons_said(reasons: Iterable[Change]) -> Iterator[Said]:
    """Why something was changed, each with its verdict."""
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


def _conditions(before: Session, now: Session, preferences: Preferences) -> Iterator[Said]:
    for name in _CONDITIONS:
        field = SESSION_FIELDS[name]
        values = [session.value(name) or None for session in (before, now)]
        if values == [None, None]:
            continue
        then, here = (figures.value(value, field.quantity, preferences) for value in values)
        if then == here:
            yield Said(f"{field.label}: {here}, as then")
        else:
            was = "unknown" if values[0] is None else then
            yield Said(f"{field.label}: {was} → {'not entered yet' if values[1] is None else here}")
