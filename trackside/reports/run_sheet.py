"""A session's run sheet on paper: what was entered, boxes for what was not, force and curves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from trackside.analysis.estimate import Estimate, curves, drawn_speeds
from trackside.analysis.fitted_elsewhere import Elsewhere, fitted_elsewhere
from trackside.analysis.shed import Shed
from trackside.crew.jobs import Jobs
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNER_NAMES, CORNERS, SESSION_FIELDS
from trackside.records.laps import show_laps
from trackside.reports import formatting
from trackside.reports.beside_run import beside_section
from trackside.reports.cautions import FIRST, ON_THE_CAR, whole
from trackside.reports.debriefing import (
    Outing,
    notes_said,
    outing,
    page_heading,
    reasons_said,
    unread_said,
)
from trackside.reports.document import (
    Block,
    Corners,
    Document,
    Picture,
    Pictures,
    Said,
    Section,
    Table,
)
from trackside.reports.fuel_words import fuel_words
from trackside.reports.job_words import jobs_said
from trackside.reports.lap_words import from_laps_words
from trackside.reports.mark_words import problems
from trackside.reports.origin_words import setting_words
from trackside.reports.run_state import state_words
from trackside.reports.time_table import slot_said_of

_NO_BOX = ("run_time", "rear_set")
"""Values that stand on the paper only where they were typed: the lap times give the one too, and
most cars run one set."""
NOTE_LINES = 4
"""Empty lines for what the driver says."""


def run_sheet(logbook: Logbook, entity: str, shed: Shed, preferences: Preferences) -> Document:
    """The sheet of that session; UnknownRecord when there is none."""
    now = outing(logbook, entity)
    session = now.session
    whole = {
        corner: curves(session, corner, shed, drawn_speeds(preferences.peak_speed))
        for corner in CORNERS
    }
    blocks: list[Block] = [
        *jobs_said(Jobs(logbook), entity),
        _conditions(session, preferences),
        Corners(
            f"{_titled('car', session)}, seen from above, front at the top",
            _corners(session, shed, preferences),
        ),
        *_items(session),
        *_laps(session, preferences),
        *beside_section(logbook, entity, session, preferences),
        _forces(session, shed, preferences),
        Pictures(
            "Effective curves: force against rod speed, shaded: 95 % band",
            tuple(
                picture
                for corner in CORNERS
                if (picture := _picture(corner, whole[corner].values(), preferences))
            ),
        ),
        *_marks(session, shed, preferences, fitted_elsewhere(logbook, entity)),
        _said(now),
        *([unread] if (unread := unread_said(logbook, [entity], session)).said else []),
        Section("Cautions", _cautions()),
    ]
    state = state_words(session.status, session.ran, at_length=True)
    when = slot_said_of(logbook, now.line)
    heading = page_heading(session, now.line.car_name, session.driver, when, state)
    return Document(f"Run sheet: {now.name}", heading, tuple(blocks))


def _titled(what: str, session: Session) -> str:
    """`The car`; until the run was run its settings are no more than what is to be set."""
    return f"The {what}" if session.ran else f"To set on the {what}"


def _conditions(session: Session, preferences: Preferences) -> Table:
    cells = [
        (field.label, _value(session, name, field.quantity, preferences))
        for name, field in SESSION_FIELDS.items()
        if field.group in ("weather", "run") and (name not in _NO_BOX or session.value(name))
    ]
    return Table("Conditions and run", _paired(cells))


def _paired(cells: Sequence[tuple[str, str]]) -> tuple[tuple[str, ...], ...]:
    """Names and values in two columns, read down the left one first."""
    half = (len(cells) + 1) // 2
    right = [*cells[half:], ("", "")]
    return tuple((*left, *other) for left, other in zip(cells[:half], right, strict=False))


def _value(session: Session, path: str, quantity: str | None, preferences: Preferences) -> str:
    value = session.value(path)
    return formatting.value(value, quantity, preferences) if value else ""


def _corners(
    session: Session, shed: Shed, preferences: Preferences
) -> dict[str, tuple[tuple[str, str], ...]]:
    return {corner: tuple(_corner(session, corner, shed, preferences)) for corner in CORNERS}


def _corner(
    session: Session, corner: str, shed: Shed, preferences: Preferences
) -> Iterator[tuple[str, str]]:
    """Every value of the corner; of adjusters, those that its damper has or that were entered."""
    build = shed.build_at(session, corner)
    for name, field in CORNER_FIELDS.items():
        words = _value(session, f"{corner}.{name}", field.quantity, preferences)
        adjuster = build.adjuster(name) if build and name in ADJUSTERS else None
        if name in ADJUSTERS and not words and adjuster is None:
            continue
        if adjuster and words:
            words += f" of {adjuster.clicks} from full {adjuster.counted_from}"
        yield field.label, words


def _items(session: Session) -> Iterator[Table]:
    if session.items:
        yield Table(_titled("whole car", session), _paired(list(session.items.items())))


def _laps(session: Session, preferences: Preferences) -> Iterator[Section]:
    """The lap times, and what they and the fuel that was read come to: a line each, so that the
    sheet is two pages."""
    worked_out, used = from_laps_words(session), fuel_words(session, preferences)
    fuel = (Said(used),) if used else ()
    if session.lap_times:
        more = (Said(f"From these lap times: {worked_out}", "small"),) if worked_out else ()
        yield Section("Lap times", (Said(show_laps(session.lap_times)), *more, *fuel))
    elif fuel:
        yield Section("Fuel", fuel)


def _forces(session: Session, shed: Shed, preferences: Preferences) -> Table:
    speeds = preferences.reference_speeds
    rows = []
    for corner in CORNERS:
        for direction, found in curves(session, corner, shed, speeds).items():
            name = f"{corner} {direction}"
            if isinstance(found, Estimate):
                rows.append((name, *formatting.banded(found, preferences), str(found.basis)))
            else:
                rows.append((name, *("–" for _ in speeds), f"no estimate: {found}"))
    rods = (formatting.speed(v, preferences, with_unit=True) for v in speeds)
    title = f"Force at the damper, {preferences.unit('force')}, with its 95 % band"
    return Table(title, tuple(rows), ("corner", *rods, "basis"))


def _picture(corner: str, found: Iterable[object], preferences: Preferences) -> Picture | None:
    known = [one for one in found if isinstance(one, Estimate)]
    if not known:
        return None
    return Picture(
        f"{CORNER_NAMES[corner]}: "
        + ", ".join(f"{one.setting.direction} {setting_words(one.setting)}" for one in known),
        tuple(
            formatting.curve(one, one.setting.direction, preferences, band=True) for one in known
        ),
        f"rod {preferences.unit('speed')}",
        preferences.unit("force"),
    )


def _marks(
    session: Session, shed: Shed, preferences: Preferences, elsewhere: Elsewhere
) -> Iterator[Section]:
    from trackside.records.fields import words_for

    marks = problems(session, shed, preferences, elsewhere)
    if marks:
        said = (Said(f"{words_for(path)}: {why}", "caution") for path, why in marks.items())
        yield Section("Cannot be right as entered", tuple(said))


def _cautions() -> tuple[Said, ...]:
    """All of them: the sheet goes where every hand acts."""
    return (Said(f"{whole(ON_THE_CAR)} {FIRST}", "small"),)


def _said(now: Outing) -> Section:
    said = [*notes_said(now.notes, now.absent), *reasons_said(now.reasons)]
    if now.session.words:
        said.append(Said(now.session.words))
    blank = "_" * 60
    return Section("Said, and why it was changed", tuple(said or [Said(blank)] * NOTE_LINES))
