"""A plan: what the next run could be set to, apart from every run until it is taken."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Self

from pydantic import Field, model_validator

from trackside.records.base import Line, Record
from trackside.records.fields import CORNER_FIELDS, CORNERS, field_of
from trackside.records.reading import Reading
from trackside.records.session import CornerSheet, Session, value_body


class Plan(Record):
    """The cells that differ from the run `session`, each at the path that it has on a run sheet,
    and nothing of what stays. `taken_as` is the run that it became."""

    session: str = ""
    name: Line = ""
    taken_as: str | None = None
    items: dict[Line, Line] = Field(default_factory=dict)
    FL: CornerSheet = CornerSheet()
    FR: CornerSheet = CornerSheet()
    RL: CornerSheet = CornerSheet()
    RR: CornerSheet = CornerSheet()

    @model_validator(mode="before")
    @classmethod
    def _drop_unknown(cls, body: Any) -> Any:
        if isinstance(body, dict) and isinstance(body.get("items"), dict):
            known = {name: text for name, text in body["items"].items() if text is not None}
            return body | {"items": known}
        return body

    @property
    def cells(self) -> dict[str, Reading | str]:
        """The changed cells: path (`FL.rebound_bleed`, `items.Front bar`) to value."""
        return dict(self._cells())

    def _cells(self) -> Iterator[tuple[str, Reading | str]]:
        for corner in CORNERS:
            sheet: CornerSheet = getattr(self, corner)
            for name in CORNER_FIELDS:
                if (value := sheet.value(name)) is not None:
                    yield f"{corner}.{name}", value
        for name, text in self.items.items():
            yield f"items.{name}", text

    @property
    def wanted(self) -> dict[str, Reading | str]:
        """Of the changed cells, those that a gauge or a thermometer says: wanted, and on no run
        sheet before somebody has read them there."""
        return {path: value for path, value in self.cells.items() if not field_of(path).carried}

    @property
    def settings(self) -> dict[str, Any]:
        """The others, as a run's revision takes them: what a run is set to."""
        return {path: body for path, body in self.patch.items() if path not in self.wanted}

    @property
    def patch(self) -> dict[str, Any]:
        """The changed cells as a revision takes them."""
        return {path: value_body(value) for path, value in self.cells.items()}

    def applied_to(self, run: Session) -> Session:
        """That run as it would be with the changed cells."""
        for path, value in self.cells.items():
            run = run.with_value(path, value)
        return run

    def with_cell(self, path: str, value: Reading | str | None) -> Self:
        """The plan with one cell changed; None leaves it as in the run."""
        head, _, name = path.partition(".")
        if head == "items":
            items = {at: text for at, text in self.items.items() if at != name}
            more = {name: value} if isinstance(value, str) and value else {}
            return self.model_copy(update={"items": items | more})
        sheet = getattr(self, head).model_copy(update={name: value})
        return self.model_copy(update={head: sheet})
