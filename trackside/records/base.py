"""What every record shares: immutable, checked where a person types, clean of control codes."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError

from trackside.errors import BadRecord
from trackside.units import clean, one_line

Line = Annotated[str, AfterValidator(one_line)]
"""Words on one line."""

Words = Annotated[str, AfterValidator(clean)]
"""Words, as many lines as the person likes."""


class Record(BaseModel):
    """An immutable value. A field that this version does not know is passed over, never refused:
    the logbook keeps it, and a newer trackside reads it."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    @classmethod
    def checked(cls, body: dict[str, Any]) -> Self:
        """The record of `body`; BadRecord, with the first contradiction in words."""
        try:
            return cls.model_validate(body)
        except ValidationError as error:
            first = error.errors()[0]
            place = ".".join(str(part) for part in first["loc"]) or cls.__name__.lower()
            cause = str(first.get("ctx", {}).get("error") or first["msg"])
            raise BadRecord(
                f"{cls.__name__} cannot be read at {place}: {cause}", "correct that value"
            ) from error

    def body(self) -> dict[str, Any]:
        """The JSON-able body: what is unknown is left out."""
        return self.model_dump(mode="json", exclude_none=True)
