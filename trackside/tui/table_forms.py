"""Dampers or cars from a spreadsheet, a file or pasted rows: asked in the shed, on the board."""

from __future__ import annotations

from collections.abc import Callable

from trackside.crew.record_columns import named_columns
from trackside.crew.record_table import table_in_file, take_rows
from trackside.errors import BadInput
from trackside.reports.table_words import (
    MANY,
    all_refused_words,
    count_words,
    differs_words,
    measured_words,
    unknown_words,
)
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.page import Page
from trackside.tui.widgets.ask import Question

_HEADINGS = {
    "damper": "serial, model, rod diameter (mm), rebound clicks, rebound counted from …",
    "car": "name, number, wheelbase (m), FL scales, front spring (N/mm), rear motion ratio …",
}


def import_rows(page: Page, form: str, saved: Callable[[str], None] | None = None) -> None:
    """Ask for the table; `saved` is told the first that was entered."""

    def answered(answers: Answers) -> Keeping:
        path, pasted = answers["path"].strip(), answers["rows"]
        if not path and not pasted.strip():
            return Keeping()
        if path and pasted.strip():
            raise BadInput("a file is named and rows are pasted", "empty one of them")
        text, source = table_in_file(path) if path else (pasted, "what was pasted")
        columns = named_columns([answers["columns"]], form)
        instead = _yes(answers["instead"])
        desk = page.desk
        taken = take_rows(
            desk.logbook, form, text, source, desk.preferences, columns=columns, instead=instead
        )
        if taken.refused:
            raise BadInput(all_refused_words(taken), "nothing is written: put them right")
        told = [count_words(taken), measured_words(taken), *differs_words(taken)]
        told.append(unknown_words(taken))
        if taken.writes:
            told.append(f"{key_of('undo')} takes it back")
        said = " · ".join(part for part in told if part)

        def there() -> None:
            if saved is not None and taken.added:
                saved(taken.added[0])
            page.announce(said, "problem" if taken.differs or taken.unknown else "kept")

        return Keeping(tuple(taken.writes), then=there)

    questions = (
        Question("path", "File", hint="a table as CSV or text; or paste its rows below"),
        Question("rows", "Rows with their headings, pasted from a spreadsheet", many=True),
        Question("columns", "Own names", hint="Nr=serial; Stange=rod diameter; once"),
        Question("instead", "Replace", choices=("no", "yes"),
                 hint="what is here otherwise: no / yes"),
    )  # fmt: skip
    title = f"{MANY[form].capitalize()} from a spreadsheet"
    caution = f"By its headings: {_HEADINGS[form]}"
    put_questions(page, title, questions, answered, page.announce, caution)


def _yes(typed: str) -> bool:
    word = typed.strip().casefold()
    if word not in ("", "no", "yes"):
        raise BadInput(f"“{typed.strip()}” is not an answer here", "type yes or no")
    return word == "yes"
