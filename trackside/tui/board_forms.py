"""What is asked on the pit board: a car like another one."""

from __future__ import annotations

from trackside.crew.copies import car_design, copied_car
from trackside.reports.copy_words import OF_ONE_CAR, copied_words, taken_words
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.page import Page
from trackside.tui.widgets.ask import Question
from trackside.units import one_line


def copy_car(page: Page, entity: str) -> None:
    """A car of the same design: its name and number."""
    logbook = page.desk.logbook

    def named(answers: Answers) -> Keeping:
        if not one_line(answers["name"]):
            return Keeping()
        copies = copied_car(logbook, entity, answers["name"], answers["number"])
        [car] = copies.writes
        told = f"{copied_words(copies, OF_ONE_CAR)}; {key_of('undo')} takes it back"
        return Keeping(copies.writes, then=lambda: page.open_record({"car": car.entity}, text=told))

    design = car_design(logbook, entity)
    questions = (Question("name", "Name"), Question("number", "Number"))
    takes = taken_words(design, OF_ONE_CAR)
    put_questions(page, f"A car like {design.of}", questions, named, page.announce,
                  f"{takes.capitalize()}.")  # fmt: skip
